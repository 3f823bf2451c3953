"""What people see: tables, Markdown, CSV, JSON."""
