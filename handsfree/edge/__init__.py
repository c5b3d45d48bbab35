"""All that touches the world: microphone, recognisers, loudspeaker, terminal, journal file."""
