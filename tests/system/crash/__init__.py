"""The crash test: a real daemon under load, killed again and again, and the books afterwards."""
