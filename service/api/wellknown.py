"""/.well-known/security.txt: whom to tell of a hole in the service (RFC 9116)."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

from flask import Response, current_app
from werkzeug.exceptions import NotFound

from service.api.gates import OTHERS
from service.api.routes import Blueprint

# RFC 9116 2.5.5 asks for less than a year; half of one leaves time to see that a contact is gone.
_VALID_DAYS = 180

blp = Blueprint("wellknown", __name__, url_prefix="/.well-known", description="Whom to tell.")
blp.record_once(lambda state: OTHERS.update({"wellknown.security": ("text/plain",)}))


@blp.route("/security.txt")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/plain", description="The contact.")
@blp.fails(400, 404, 406, 500)
def security() -> Response:
    """Whom to tell of a hole, as RFC 9116 has it; 404 where the host of the service names nobody."""
    contact = current_app.config["SECURITY_CONTACT"]
    if not contact:
        raise NotFound
    text = f"Contact: {contact}\nExpires: {_expires(datetime.now(UTC))}\n"
    return Response(text, content_type="text/plain; charset=utf-8")


def _expires(now: datetime) -> str:
    """A midnight half a year from now, the same for all of a day."""
    midnight = datetime.combine(now.date() + timedelta(days=_VALID_DAYS), time(), UTC)
    return midnight.strftime("%Y-%m-%dT%H:%M:%SZ")
