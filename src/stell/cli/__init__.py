"""The command line: parses, calls services, prints."""
