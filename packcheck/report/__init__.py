"""A report in every form: text, JSON, CSV, page, sheets."""
