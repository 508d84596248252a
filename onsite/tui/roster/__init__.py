"""Loading the client's list, with a look at how its columns are understood."""
