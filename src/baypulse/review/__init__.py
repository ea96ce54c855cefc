"""One document of a whole rocket, joined from the documents of the studies."""
