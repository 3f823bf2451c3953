"""Part values: text in, SI floats out."""
