"""Settings by environment: read strictly, refused all at once."""

from __future__ import annotations

import pytest

from service.api.environment import BadEnvironment, Environment, read_environment

NAMES = ("LITREWISE_LOG", "LITREWISE_METRICS", "LITREWISE_PROXY_HOPS", "FLASK_DEBUG")
LEFT_OUT = "change it or leave it out."


def test_what_is_not_set_or_empty_has_its_default():
    empty = {name: "" for name in NAMES}
    assert read_environment({}) == read_environment(empty) == Environment("errors", False, 0, "", 0)
    assert read_environment({}, log="requests").log == "requests"


def test_what_is_set_is_read():
    got = read_environment(
        {
            "LITREWISE_LOG": "off",
            "LITREWISE_METRICS": "1",
            "LITREWISE_PROXY_HOPS": "2",
            "LITREWISE_SECURITY_CONTACT": "mailto:security@quillmere.example",
            "LITREWISE_DRAIN_SECONDS": "15",
            "FLASK_DEBUG": "0",
        },
        log="requests",
    )
    assert got == Environment("off", True, 2, "mailto:security@quillmere.example", 15)


@pytest.mark.parametrize(
    "contact", ["mailto:a@b.example", "https://shop.example/report?x=1", "tel:+44-20-7946-0000"]
)
def test_a_contact_is_a_uri_that_reaches_somebody(contact: str):
    assert read_environment({"LITREWISE_SECURITY_CONTACT": contact}).security_contact == contact


WORDS = "'LITREWISE_LOG' must be one of off, errors, requests"
CONTACT = "'LITREWISE_SECURITY_CONTACT' must be a mailto:, https: or tel: address of at most 200 characters"


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("LITREWISE_LOG", "all", f"{WORDS} (got all); {LEFT_OUT}"),
        ("LITREWISE_LOG", "Errors", f"{WORDS} (got Errors); {LEFT_OUT}"),
        ("LITREWISE_LOG", "x" * 100, f"{WORDS} (got {'x' * 80}...); {LEFT_OUT}"),
        ("LITREWISE_METRICS", "yes", f"'LITREWISE_METRICS' must be one of 0, 1 (got yes); {LEFT_OUT}"),
        *(
            (
                "LITREWISE_PROXY_HOPS",
                value,
                f"'LITREWISE_PROXY_HOPS' must be a whole number from 0 to 8 (got {value}); {LEFT_OUT}",
            )
            for value in ("9", "-1", "1.0", "one", "٣", "99999999999")
        ),
        (
            "LITREWISE_DRAIN_SECONDS",
            "301",
            f"'LITREWISE_DRAIN_SECONDS' must be a whole number from 0 to 300 (got 301); {LEFT_OUT}",
        ),
        *(
            ("LITREWISE_SECURITY_CONTACT", value, f"{CONTACT} (got {value}); {LEFT_OUT}")
            for value in (
                "security@quillmere.example",
                "http://shop.example",
                "mailto:a",
                "mailto:a@b\nExpires: x",
            )
        ),
        *(
            ("FLASK_DEBUG", value, f"'FLASK_DEBUG' must be one of 0, false, no (got {value}); {LEFT_OUT}")
            for value in ("1", "true", "on")
        ),
    ],
)
def test_what_cannot_be_meant_is_refused(name: str, value: str, said: str):
    with pytest.raises(BadEnvironment) as refused:
        read_environment({name: value})
    assert refused.value.faults == [said]


def test_all_faults_come_at_once():
    with pytest.raises(BadEnvironment) as refused:
        read_environment({name: "x" for name in NAMES})
    assert [fault.split("'")[1] for fault in refused.value.faults] == list(NAMES)
