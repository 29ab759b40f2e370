"""Charts: one module a subject, each a pure function from an outcome to inline SVG."""
