"""Where records lie closer together along the roads than the search for them explains."""
