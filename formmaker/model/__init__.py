"""The nouns: frozen records of the workshop that check themselves."""
