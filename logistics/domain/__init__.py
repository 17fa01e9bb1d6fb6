"""Pure computation of hauls: dataclasses in, dataclasses out; no Django, no clock."""
