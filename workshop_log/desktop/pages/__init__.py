"""The five pages of a job, in the order of the work."""
