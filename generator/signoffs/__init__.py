"""Sign-offs: what a scope depends on, whether a word given on it still stands, and recording one."""
