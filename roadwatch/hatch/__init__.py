"""From temperature to degree-days to the days on which nests hatch and hatchlings leave them."""
