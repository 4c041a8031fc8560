"""Numbers of things in words."""


def counted(number: int, thing: str) -> str:
    """A number of things, in the singular or the plural."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"
