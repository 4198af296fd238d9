"""Roads as a network: clean, node, measure along, cut into stretches, place records, count search effort."""
