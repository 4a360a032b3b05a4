"""The as-built binder: schedules of a design as one document, written as PDF, as a page, and as CSV."""
