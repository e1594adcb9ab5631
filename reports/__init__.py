"""What people read: pages on paper and screen, pictures, and tables for reports."""
