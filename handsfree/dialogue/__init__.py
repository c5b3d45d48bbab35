"""The pure core of the conversation: events in, effects out, no clock, file or thread."""
