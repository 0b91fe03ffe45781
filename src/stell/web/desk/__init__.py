"""The desk: what the vet reads indoors. One module a page; views stay thin."""
