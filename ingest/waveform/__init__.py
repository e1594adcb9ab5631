"""From an ECG or a pulse wave to RR intervals, with what cannot be relied on left as a gap."""
