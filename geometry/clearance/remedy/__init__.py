"""What would mend a clearance that falls short."""
