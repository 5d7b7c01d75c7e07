"""Proves, before any target is placed, that car and bay are ready for a calibration."""

__version__ = "0.1.0"
