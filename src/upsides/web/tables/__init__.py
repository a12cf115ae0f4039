"""Tables taken in and given out."""
