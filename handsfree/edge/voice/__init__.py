"""The voice: sentences to sound, one clip a sentence, so that speaking can stop and go on."""
