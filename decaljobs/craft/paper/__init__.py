"""What each sheet of paper says, as plain values for the printer."""
