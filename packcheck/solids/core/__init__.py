"""What a solid is, its triangles and which side of them is out."""
