"""Film as it is used: copies to print, free places, and where its area went."""
