"""`python -m readiness` is the command `readiness`."""

from readiness.cli import main

main()
