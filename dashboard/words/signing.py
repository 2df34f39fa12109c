"""What is said about signing in on a shared server."""

from collections.abc import Sequence

SIGN_IN = "Sign in to see your fields."
SIGN_IN_WHY = (
    "What you see follows from the role that this store's administrator gave to your e-mail "
    "address. Nothing of the store is shown before."
)
NO_FIELD = "No field is open to this account."
NOT_ALLOWED = "That is not for this account."


def signed_in(who: str, role: str, growers: Sequence[str]) -> str:
    """Say who is signed in and what they see."""
    if role == "grower":
        return f"{who}: the fields of {' and '.join(growers)}."
    if role == "guest":
        return f"{who}: a guest."
    return f"{who}: every field, as {role}."


def no_role(who: str) -> str:
    """Say that somebody signed in for whom nothing is opened."""
    return (
        f"{who or 'Somebody whose address is not verified'} signed in, but has no role that "
        "shows fields. Ask whoever keeps this store for one."
    )
