"""Judgement of a link's history: pure functions and bounded state.

Offered to the rest of the program: `engine` (initial, advance, encode, decode), `margin`, `loss`.
Offered besides, for their own sake: the statistics (`robust`, `drift`, `weather`, `settle`,
`swing`), `forecast`, `laser`, `conditions.hold`, the cause table with `causes` and `evidence`.
Modules and names that no `__all__` lists are the engine's inner parts.
"""
