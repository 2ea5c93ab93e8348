"""Pictures of findings and of the bay, as SVG and PNG."""
