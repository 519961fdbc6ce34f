"""Schedules: activities on limited resources, critical paths, and the schedule of one session."""
