"""A machine over the years: revisions, what differs between them, and what its pages claim. Plain data in and out."""
