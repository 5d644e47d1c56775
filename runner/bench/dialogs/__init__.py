"""What can be said besides answering the demand: each module one family of forms, made from the view alone."""
