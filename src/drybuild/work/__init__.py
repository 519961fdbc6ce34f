"""The work: components in the way, jobs, work sessions, a plan of them, and what may go wrong."""
