"""`python -m readiness` is the command `readiness`."""

try:
    from readiness.cli import main
except KeyboardInterrupt:  # while it was still loading
    raise SystemExit(130) from None

main()
