"""A sheet being written: what is asked in which order, what was answered so far, the YAML made of it; two sheets told apart.

Pure: knows no file and no screen. An answer is kept as the text that will stand in the file.
"""
