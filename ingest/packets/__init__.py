"""Logs of Bluetooth SIG heart-rate packets."""
