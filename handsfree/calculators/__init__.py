"""One declared card per question that the trade asks."""
