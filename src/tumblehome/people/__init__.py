"""People in the van: the way along the aisle, passing, getting out, sleeping, sitting, and what they must reach."""
