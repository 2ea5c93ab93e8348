"""Where could a part go: places out of the map, each checked wholly; told as tables, written as layouts."""
