"""The job card: the local page of one job."""
