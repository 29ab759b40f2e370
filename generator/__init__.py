"""From a build to its review site: evaluation, pages, revisions, and the command line."""
