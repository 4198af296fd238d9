"""The whole jobs, each a chain of rooms: set up, take in, find hotspots, project nests, show."""
