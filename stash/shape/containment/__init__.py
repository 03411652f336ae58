"""Does one piece lie on a scrap, and how large may it be: yes with a proof, no with a bound."""
