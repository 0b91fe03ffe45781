"""The pure part: values in, values out; no framework, database, network or clock."""
