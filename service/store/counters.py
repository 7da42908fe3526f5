"""Numbers without gaps within an account: quotes, entries of the audit trail."""

from __future__ import annotations

from sqlalchemy import bindparam, update

from service.store.scope import Scope, mine, scoped
from service.store.tables import counter

_ONE_MORE = scoped(
    update(counter)
    .where(*mine(counter), counter.c.name == bindparam("counted"))
    .values(value=counter.c.value + 1)
    .returning(counter.c.value)
)


def following(scope: Scope, name: str) -> int:
    """The next number of a name, from one on. Taken back if the transaction is."""
    found = scope.run(_ONE_MORE, counted=name).scalar()
    if found is None:
        scope.add(counter, [{"name": name, "value": 1}])
        return 1
    return int(found)
