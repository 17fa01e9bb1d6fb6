"""Pure computation of matches: dataclasses in, dataclasses out; no Django, no clock."""
