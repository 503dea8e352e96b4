"""`python -m asbuilt`: the same commands."""

from asbuilt.cli import main

main()
