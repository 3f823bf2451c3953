"""Where the steps of a checklist are on the board, and in which order to go."""
