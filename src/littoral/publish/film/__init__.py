"""The film of a trial: what is shown when, how a frame looks, and how it is written."""
