"""Plans of work: who does which step when. Pure functions on days and hours; no calendar, no page."""
