"""Rule sheets against the description: what applies, what conforms, and what a person has to say."""
