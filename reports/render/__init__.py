"""A page in every form: HTML, PDF, pictures of its sheets, and text for the terminal."""
