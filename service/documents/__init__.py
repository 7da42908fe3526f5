"""What people see: the quote as a page and as a PDF, charts, the calculator."""
