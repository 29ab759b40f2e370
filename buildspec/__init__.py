"""What a build says: a folder read into frozen records, or into problems. No engineering."""
