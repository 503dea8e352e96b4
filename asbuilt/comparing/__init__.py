"""Two placed files of one job held against each other: what came, went, moved and changed from one to the next."""
