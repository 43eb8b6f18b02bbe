"""One sample book for each schema ever released; made once, by `make.py` of that time, and never again."""
