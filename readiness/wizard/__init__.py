"""The full-screen face: shows what is asked and what was found; computes nothing."""
