"""The register in a browser, and for programs: a search page, the answers of `find` as JSON, and OGC API Features.

It only reads: nothing here changes a register.
"""
