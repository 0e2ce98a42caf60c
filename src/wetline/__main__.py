"""`python -m wetline`."""

from wetline.cli import main

main()
