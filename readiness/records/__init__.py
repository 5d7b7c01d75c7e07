"""What is kept: the journal of a job, the shop's folder, answers as a file, the demo shop."""
