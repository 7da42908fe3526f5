"""What is kept, in SQLite or PostgreSQL: tables, one scope an account, plain values in and out."""
