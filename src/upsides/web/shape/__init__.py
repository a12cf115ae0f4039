"""The shape of a horse: scoring it, and how far those who scored it agree."""
