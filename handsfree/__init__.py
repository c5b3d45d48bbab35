"""An offline voice-and-chat assistant for refrigeration tube work."""

__version__ = "0.1.0"
