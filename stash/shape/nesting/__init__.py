"""How many pieces one scrap gives, and where they lie."""
