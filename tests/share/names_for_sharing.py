"""Names that the tests of sharing take as the taxon table; which of them are sensitive is invented."""

SENSITIVE = ("Terrapene carolina",)
KNOWN = ("Trachemys scripta", "Trachemys", "Terrapene carolina", "Terrapene", "Terrapene carolina major", "Emydidae")
