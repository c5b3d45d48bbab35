"""What the record of a job holds, and the forms in which it leaves the tool (pure)."""
