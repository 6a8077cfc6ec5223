"""What the home uses, step by step: a file or twelve bills in, kilowatts out."""
