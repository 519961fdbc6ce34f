"""Results in, words, tables and pictures out; nothing is computed here."""
