"""Pages that open by double click: maps, reports and forms, drawn from what sharing allows."""
