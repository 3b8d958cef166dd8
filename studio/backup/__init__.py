"""Backups: one file with the database and the kept files, and the way back."""
