"""Documents and charts made from judged records."""
