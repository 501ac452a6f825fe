"""Reports: figures as text, and runs as a page that needs nothing else."""
