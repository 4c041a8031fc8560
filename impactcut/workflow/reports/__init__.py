"""Reports on a whole project: status, oddities, summary; they change nothing."""
