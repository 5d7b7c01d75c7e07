"""Simulated cars for the apprentice: what is so, what an instrument shows of it, what was called, how good that was."""
