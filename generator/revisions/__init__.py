"""Revisions: what git holds of a build, how it is published, and what changed between two of them."""
