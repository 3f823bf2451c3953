"""The electrical view of a board: what a meter's current can flow through.

`elements` holds the values; `build` makes them from a `Circuit` and a `BoardState`;
`solve`, `update`, `junction_solve` and `tolerance` answer what is read between two
nodes; `meter` says what a meter drives and shows; `expect` joins them for people.
"""
