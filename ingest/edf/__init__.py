"""EDF and EDF+, the open format of recorders of waveforms."""
