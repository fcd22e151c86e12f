"""One script a revision. A script stands as it is for good: books that it made are out there."""
