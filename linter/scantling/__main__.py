"""`python -m scantling`."""

from scantling.cli import main

main()
