"""The site: the desk's pages, the API and the yard page."""
