"""The plan of a class's day: a table out of a bag of files that says who, which protocol, when, and what to look at."""
