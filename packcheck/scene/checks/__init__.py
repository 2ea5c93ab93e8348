"""Does every name in a scene lead where it may?"""
