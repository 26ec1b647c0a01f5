"""Daily temperatures from the files that people have: one module a format, one register of them."""
