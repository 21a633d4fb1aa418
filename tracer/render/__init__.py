"""What was worked out, as screens, printable pages and pictures; nothing is computed here."""
