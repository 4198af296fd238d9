"""What leaves the season: masked places and files in open formats."""
