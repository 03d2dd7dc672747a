"""Reading what a person writes, the trial file and the file of entries, and naming every mistake with its line.

`reader.read_trial` and `entries_csv.read_entries` are the doors; each other module reads one subject.
"""
