"""Hearing: sources of sound, the end of speech, and the ears that turn sound into sentences.

sources     blocks of sound from a microphone, a file or standard input
endpoint    cuts the blocks into utterances
recogniser  what an ear is, and what it hears
builtin     the built-in ear: acoustic (what sounds), lexicon (how words sound), automaton
            (which sentences may be said), graph (the two joined), lattice (the best
            sentences), scoring (how likely each is, exactly)
vosk_ear    the other ear, for those who have its model
ears        one of them or both
"""
