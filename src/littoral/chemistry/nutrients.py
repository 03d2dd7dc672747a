"""The nutrients and ions that Littoral keeps account of, and their names.

Inside, every content or level is a mapping from a nutrient key to a mass *of the ion named here* (nitrate as NO3,
phosphate as PO4, potassium as K). This is the only vocabulary; elements are a view of it.
"""
