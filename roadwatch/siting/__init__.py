"""Where to fence, where to sign, and whether a measure worked."""
