"""The model of a procedure graph, and the rules that every graph must obey."""
