"""Typesetting: compiles typst documents with the fonts shipped beside this file."""
