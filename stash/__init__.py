"""Know your fabric scraps by true colour and size, and plan quilts from them."""
