"""Writers killed in the middle of their work, and a look at what they left: `python -m tools.kills`."""
