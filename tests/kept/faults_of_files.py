"""What is wrong with files and rates that are sent, with the whole text of each fault."""

from __future__ import annotations


def rate(origin: str, target: str, value: str, on: str, **more: str) -> dict[str, str]:
    """An exchange rate as it is sent."""
    return {"from": origin, "to": target, "rate": value, "on": on, **more}


RATES_FILES = {
    "nothing": (b"", [("#", "The file is empty; give a header and rows below it.")]),
    "another encoding": (
        "Date,USD\n2026-10-30,1\nGrüße,1\n".encode("latin-1"),
        [("#", "line 3: the file must be UTF-8 text; save it as CSV in UTF-8.")],
    ),
    "NUL": (b"Date,USD\n2026-10-30,\x001\n", [("#", "line 2: there is a character NUL; take it out.")]),
    "an open quote": (
        b'Date,USD\n2026-10-29,1\n2026-10-30,"1\n\n',
        [(
            "#",
            "line 3: the quotes of the row that begins here do not fit together; put the whole cell in quotes and "
            "write each quote inside it twice.",
        )],
    ),
    "no date": (
        b"USD\n1\n",
        [(
            "#/columns/0",
            "the first column must be 'Date', and the others codes of currencies such as 'USD'; each rate is what "
            "1 EUR is worth.",
        )],
    ),
    "the euro itself": (
        b"Date,USD,EUR\n2026-10-30,1,1\n",
        [("#/columns/2", "'EUR' is what all rates are of; take its column out.")],
    ),
    "no currency": (
        b"Date,XXQ\n2026-10-30,1\n",
        [("#/columns", "no column is named by a currency of /v1/currencies.")],
    ),
    "a column twice": (
        b"Date,USD,GBP,USD\n2026-10-30,1,1,1\n",
        [("#/columns/3", 'there are two columns "USD" in the header; keep one.')],
    ),
    "no rate": (
        b"Date,USD\n2026-10-30,N/A\n2026-10-29,\n",
        [("#/rows", "there is no rate in the file; give at least one.")],
    ),
    "bad cells, all of them": (
        b'Date,USD,GBP,JPY\n2026-02-30,1.1,1,1\n2026-10-30,0,"1,5",-1\n2026-10-30,1e3,,\n30 Oct 2026,1,1,1\n1998-12-31,1,1,1\n'
        b"2026-10-28,1\n",
        [
            ("#/rows/0/Date", "line 2: 'Date' must be a day from 1999 on such as 2026-10-30 or 30 October 2026 "
             '(got "2026-02-30").'),
            *((f"#/rows/1/{code}", f"line 3: '{code}' must be a rate above zero such as 1.1172, or N/A (got {got}); "
               "write a decimal point and at most 12 digits after it.")
              for code, got in (("USD", '"0"'), ("GBP", '"1,5"'), ("JPY", '"-1"'))),
            ("#/rows/2/Date", "line 4: 'Date' 2026-10-30 stands on line 3 already; keep one row."),
            ("#/rows/2/USD", "line 4: 'USD' must be a rate above zero such as 1.1172, or N/A (got \"1e3\"); write a "
             "decimal point and at most 12 digits after it."),
            ("#/rows/3/Date", "line 5: 'Date' must be a day from 1999 on such as 2026-10-30 or 30 October 2026 "
             '(got "30 Oct 2026").'),
            ("#/rows/4/Date", "line 6: 'Date' must be a day from 1999 on such as 2026-10-30 or 30 October 2026 "
             '(got "1998-12-31").'),
            ("#/rows/5", "line 7: the row must have 4 cells as the header has (got 2); put a cell that holds a "
             "separator in quotes."),
        ],
    ),
}  # fmt: skip

RATES_SENT = {
    "an unknown currency": (
        [rate("EUR", "XXQ", "1", "2030-03-01")],
        [("#/rates/0/to", "'XXQ' is not a currency with minor units in ISO 4217; GET /v1/currencies lists them.")],
    ),
    "one currency": (
        [rate("EUR", "EUR", "1", "2030-03-01")],
        [("#/rates/0/to", "'to' must be another currency than 'from' (got EUR twice).")],
    ),
    "nothing": (
        [rate("EUR", "GBP", "0.000", "2030-03-01")],
        [("#/rates/0/rate", "'rate' must be above zero (got 0).")],
    ),
    "the same twice": (
        [rate("EUR", "GBP", "1", "2030-03-01"), rate("EUR", "GBP", "1", "2030-03-01")],
        [("#/rates/1/on", "there are two rates from EUR to GBP of 2030-03-01 (this one and number 1); keep one.")],
    ),
    "before the euro": (
        [rate("EUR", "GBP", "1", "1998-12-31")],
        [("#/rates/0/on", "'on' must be a date such as 2027-01-31 (got \"1998-12-31\"); give a day that exists, from "
          "1999-01-01 to 2100-12-31.")],
    ),
    "none": ([], [("#/rates", "'rates' must be a list of 1 to 1000 (got an empty list).")]),
}  # fmt: skip

PRICE_LISTS = {
    "columns that there are not": (
        "nam,price,\n1,2,\n",
        [
            (
                "#/columns/0",
                'column "nam" is none that is read here; leave it out (the columns are id, name, category, pack_amount, pack_unit, shelf_life, portion_amount, portion_unit, tax_code, public, price, currency, from, until, tax_included, source).',
            ),
            ("#/columns", "the header must have a column id or name."),
        ],
    ),
    "no rows": ("name,price\n", [("#/rows", "There is no row below the header; give at least one.")]),
    "cells that are not right": (
        "name,category,pack_amount,pack_unit,shelf_life,price,currency,from,until,public\n"
        'A,salts,"1,5",kg,,1,GBP,2026-01-01,,yes\n'
        "B,salt,0,kg,,-1,gbp,2026-13-01,,\n"
        "C,salt,1,zz,6M,1,XXQ,2026-01-01,,\n"
        "D,salt,1,kg,,1,GBP,2026-01-02,2026-01-01,\n"
        "E,salt,1,kg,,1,,,,\n",
        [
            (
                "#/rows/0/pack_amount",
                "line 2: 'pack_amount' must be written with a decimal point and without commas (got \"1,5\"); write it like 1250.50.",
            ),
            ("#/rows/0/public", "line 2: 'public' must be true or false (got \"yes\")."),
            (
                "#/rows/1/price",
                'line 3: \'price\' must be a decimal as text, such as "12.34" (got "-1"); give digits with a point, no sign, blanks or exponent.',
            ),
            (
                "#/rows/1/currency",
                'line 3: \'currency\' must be three capital letters such as "GBP" (got "gbp"); take a code from /v1/currencies.',
            ),
            (
                "#/rows/1/from",
                "line 3: 'from' must be a date such as 2027-01-31 (got \"2026-13-01\"); give a day that exists, from 2000-01-01 to 2100-12-31.",
            ),
            (
                "#/rows/2/shelf_life",
                "line 4: 'shelf_life' must be a duration such as P7D, P6W, P3M, P1Y or P1Y6M (got \"6M\"); days and weeks are not mixed with months and years.",
            ),
            (
                "#/rows/3/until",
                "line 5: 'until' must come after 'from' (got 2026-01-01, from 2026-01-02); 'until' is the first day that is not covered.",
            ),
            ("#/rows/4/currency", "line 6: 'currency' must not be empty."),
            ("#/rows/4/from", "line 6: 'from' must not be empty."),
        ],
    ),
    "what does not fit what is kept": (
        "id,name,category,pack_amount,pack_unit,price,currency,from\n"
        "prd_none,,,,,1,GBP,2027-01-01\n"
        ",,,,,1,GBP,2027-01-01\n"
        ",Salt 20,food,10,kg,1,GBP,2027-01-01\n"
        ",Salt 20,,20.0,kg,2,GBP,2027-01-01\n"
        ",Food,,,,,,\n"
        ",New,,,,1,XXQ,2027-01-01\n"
        ",Other,salt,0,kg,,,\n",
        [
            (
                "#/rows/0/id",
                "line 2: 'id' must be the id of a product of this account (got 'prd_none'); GET /v1/products lists them.",
            ),
            ("#/rows/1/name", "line 3: 'name' must not be empty where there is no 'id'."),
            (
                "#/rows/2/category",
                "line 4: 'category' must be what the product has as it is kept; leave the cell empty, or change the product.",
            ),
            (
                "#/rows/2/pack_amount",
                "line 4: 'pack_amount' must be what the product has as it is kept; leave the cell empty, or change the product.",
            ),
            (
                "#/rows/3/from",
                "line 5: 'from' 2027-01-01 has a price of this product on line 4 already; keep one.",
            ),
            (
                "#/rows/4/price",
                "line 6: 'price' must not be empty for a product that there is already; give one or take the row out.",
            ),
            (
                "#/rows/5/category",
                "line 7: 'category' must not be empty for a product that there is not yet.",
            ),
            (
                "#/rows/5/pack_amount",
                "line 7: 'pack_amount' must not be empty for a product that there is not yet.",
            ),
            (
                "#/rows/5/currency",
                "line 7: 'currency' is not right: 'XXQ' is not a currency with minor units in ISO 4217; GET /v1/currencies lists them.",
            ),
            ("#/rows/6/pack_amount", "line 8: 'pack_amount' must be above zero (got 0)."),
        ],
    ),
}
PACKAGE = {
    "ref": "den", "name": "Den", "water": "marine",
    "vessel": {"shape": "other", "water": {"amount": "300", "unit": "L"}},
    "devices": [{"ref": "return", "power": {"amount": "30", "unit": "W"}, "hours_per_day": "24"}],
}  # fmt: skip
CATALOGUES = {
    "shape": (
        "ref,sku,water,shape,length_cm,width_cm,pane_mm,water_depth_cm,pump_w,lamp_w,lamp_hours_per_day,heating_w,water_change_every\n"
        ",PK-3,sea,box,120,,600,53,x,150,,100,P1W\n"
        'den,PK-4,marine,box,"1,20",50,10,53,,,,,\n',
        [
            ("#/rows/0/ref", "line 2: 'ref' must not be empty."),
            ("#/rows/0/water", "line 2: 'water' must be marine, brackish or fresh (got \"sea\")."),
            ("#/rows/0/width_cm", "line 2: 'width_cm' must not be empty."),
            (
                "#/rows/0",
                "line 2: 'water_change' must have exactly one of portion or volume (got none); give one. (columns water_change_percent, water_change_l, water_change_every)",
            ),
            ("#/rows/0/heating", "line 2: 'heating' must not be empty."),
            (
                "#/rows/0/pump_w",
                'line 2: \'pump_w\' must be a decimal such as "1.5", not negative (got "x"); give at most 12 digits before the point and 6 after it.',
            ),
            (
                "#/rows/0",
                "line 2: 'devices[1]' must have hours_per_day or on (got none); give one. (columns lamp_w, lamp_hours_per_day)",
            ),
            (
                "#/rows/1/length_cm",
                "line 3: 'length_cm' must be written with a decimal point and without commas (got \"1,20\"); write it like 1250.50.",
            ),
        ],
    ),
    "meaning": (
        "ref,sku,water,shape,length_cm,width_cm,pane_mm,water_depth_cm,lamp_w,lamp_hours_per_day,routine\n"
        "den,PK-1,marine,box,120,50,400,53,150,30,\n"
        "den,pk-1,marine,box,120,50,10,53,,,rtn_none\n",
        [
            (
                "#/rows/0/pane_mm",
                "line 2: 'pane_mm' must be thinner than half the width (got 400 mm for a width of 500 mm); give the thickness of one pane.",
            ),
            ("#/rows/0/lamp_hours_per_day", "line 2: 'lamp_hours_per_day' must be from 0 to 24 (got 30)."),
            ("#/rows/1/sku", "line 3: 'sku' 'pk-1' stands on line 2 already; keep one."),
            (
                "#/rows/1/routine",
                "line 3: 'routine' must be the id of a routine of this account (got 'rtn_none'); GET /v1/routines lists them.",
            ),
        ],
    ),
    "no ref": ("sku\nPK-1\n", [("#/columns", "the header must have a column ref.")]),
}
CATALOGUES_OF_LINES = {
    "nothing": (b"\n \n", [("#", "There is no document; give one a line.")]),
    "lines": (
        b'{"ref": "a", "sku": "N"}\n\n{\n{"ref": "a", "ref": "b"}\n{"ref": "b", "sku": "n"}\n[]\n{"ref": "c", "walls": 4}\n'
        b'{"ref": "d", "lines": [{"ref": "salt", "product": "prd_none", "usage": {"kind": "life", "lasts": "P1M"}}]}\n',
        [
            (
                "#/rows/1",
                "line 3: the document must be one JSON document (line 1, column 2: Expecting property name enclosed in double quotes); send well-formed JSON.",
            ),
            ("#/rows/2/ref", "line 4: 'ref' must be given once (got it more than once); keep one."),
            ("#/rows/3/sku", "line 5: 'sku' 'n' stands on line 1 already; keep one."),
            ("#/rows/4", "line 6: the document must be an object (got an empty list)."),
            (
                "#/rows/5/walls",
                "line 7: 'walls' is not a field here; leave it out (the fields are ref, name, water, vessel, water_temperature, room, cover, surface, salinity, salt_mix, water_change, source_water, heating, cooling, devices, measured, livestock, alkalinity, limewater, plants, co2, hardness, feeding, testing, lines, routine, sku, public).",
            ),
            (
                "#/rows/6/lines/0/product",
                "line 8: 'product' must be the id of a product of this account (got 'prd_none'); GET /v1/products lists them.",
            ),
        ],
    ),
}
