"""Commands over the library: parse, call, print. No arithmetic lives here."""
