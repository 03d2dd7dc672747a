"""The four sheets of mixing and feeding: a form's texts in, a sheet that reads as sentences out."""
