"""What leaves for other tools: the evidence graph and its interchange."""
