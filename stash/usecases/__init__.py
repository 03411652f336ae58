"""What a quilter asks for, one module a question."""
