"""Plans: settings, counts, allotment, layout, finishing."""
