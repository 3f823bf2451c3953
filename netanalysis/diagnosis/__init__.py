"""What the bench told: the log, and the state of the board at each of its events.

`log` holds the values; `reading_text` reads one value as people type it; `log_text`
makes events from a CSV's text, `log_csv` a CSV from events; `epochs` says which parts
were on the board, and what had been powered, when a reading was taken.
"""
