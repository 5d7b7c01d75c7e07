"""A verdict for people and for programs. Nothing is computed here, and no file of the shop is opened."""
