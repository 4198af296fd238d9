"""What people, instruments and attackers write into cells, names and attributes; places and records are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np


def _parted(text: str) -> tuple[str, ...]:
    return tuple(one.strip() for one in text.split("¦"))


NUMBERS = (
    *_parted(
        """
        0 ¦ 1 ¦ -1 ¦ 3.5 ¦ 29.6512 ¦ -82.3725 ¦ 29,6512 ¦ 1e308 ¦ 1e999 ¦ -0 ¦ NaN ¦ inf ¦ -9999 ¦ 68.0 ¦
        0.8 ¦ 45451 ¦ 43989.25 ¦ 200 ¦ 12345678901234567890 ¦ 1_000 ¦ 0x10 ¦ + ¦ . ¦ - ¦ 1/2 ¦ ½ ¦ ² ¦ ١٢٣ ¦
        ２９．６ ¦ 1 234,5 ¦ 85% ¦ -12-34 ¦ 1e5 ¦ TRUE
        """
    ),
    *("9" * 400, "0" * 60 + "1"),
)
TIMES = (
    *_parted(
        """
        2025-05-12 ¦ 2025-05-12T07:40 ¦ 2025-05-12T07:40:00-04:00 ¦ 2025-05-12T11:40:00Z ¦ 05/14/2025 ¦
        13/05/2025 ¦ 5/6/25 ¦ July 4, 2025 ¦ 4 jul 2025 ¦ 20250512 ¦ 2025-02-30 ¦ 2025-03-09T02:30 ¦
        2025-11-02 01:30 ¦ 24:00 ¦ 07:40 ¦ 7.40 pm ¦ 0000-00-00 ¦ 9999-12-31 ¦ 10000-01-01 ¦ 1904-01-01 ¦
        2025-W20 ¦ 2025-05-12T25:61:61 ¦ ٢٠٢٥-٠٥-١٢ ¦ 1/1/1 ¦ 99/99/9999 ¦ 2025-05-12T07:40:00+99:99 ¦
        2025/05/12 07:40:00,5 ¦ 06/08/24 01:00:00 PM
        """
    ),
)
PLACES = (
    *_parted(
        """
        29°39'4.3"N ¦ 82 22.35 W ¦ N45.1 ¦ 17N 367000 3281000 ¦ 29.6512, -82.3725 ¦ POINT (1 2) ¦
        -82.3725,29.6512 ¦ POLYGON ((0 0, 1 0, 1 1, 0 0)) ¦ LINESTRING (0 0) ¦ POINT EMPTY ¦ north ¦ 91 ¦
        -181 ¦ 0 0 ¦ 29°99'99"N
        """
    ),
)
TEXTS = (
    *_parted(
        """
        box turtle ¦ slider? ¦ cf. Pseudemys ¦ cooter sp. ¦ certain ¦ yes ¦ adult ¦ dead ¦ C. serpentina ¦
        =1+1 ¦ '; DROP TABLE crossings;-- ¦ <script>x()</script> ¦ <b>dead</b>&nbsp;&amp; ¦ say "so" ¦ 🐢🐢🐢 ¦
        é ¦ {} ¦ [] ¦ null ¦ ../../etc/passwd ¦ file:///etc/passwd ¦ http://localhost/ ¦ %s%n ¦ {0} ¦ #REF! ¦
        ||||||||||||||||||||||||||||||||||||||||||||||||||
        """
    ),
    *(
        "",
        " ",
        "a\nb",
        "a\r\nb",
        "\u202eabc",
        "🐢" * 3,
        "e\u0301",
        "\ufeff",
        "\u2028",
        "\x85",
        "\x0b",
        "a" * 2000,
        "|" * 50,
    ),
    *("a;b|c\td", "\\", "C:\\fotos\\1.jpg"),
)
VALUES = (*NUMBERS, *TIMES, *PLACES, *TEXTS)
COLUMNS = (
    *_parted(
        """
        observed_at ¦ date ¦ time ¦ day ¦ longitude ¦ latitude ¦ lat ¦ lon ¦ coordinates ¦ easting ¦
        northing ¦ zone ¦ taxon ¦ species ¦ count ¦ condition ¦ observer ¦ id_confidence ¦ notes ¦ photo ¦
        carapace_mm ¦ seen_head_side ¦ nest_id ¦ found_at ¦ laid_on ¦ clutch_size ¦ depth_cm ¦ checked_at ¦
        outcome ¦ search_id ¦ started_at ¦ ended_at ¦ method ¦ track ¦ series_id ¦ kind ¦ at ¦ temp_c ¦
        tmin_c ¦ tmax_c ¦ TMIN ¦ TMAX ¦ STATION ¦ DATE ¦ TMAX_ATTRIBUTES ¦ Date Time ¦ Date Time, GMT-04:00 ¦
        Temp, °F (S/N 1) ¦ Temp (C) ¦ # ¦ wkt ¦ geometry ¦ name ¦ desc ¦ cmt ¦ date ¦ Latitude (deg) ¦
        Longitud ¦ hours_per_day
        """
    ),
    *("", " ", "a" * 301),
)


def one_of(choices: Sequence[str], rng: np.random.Generator) -> str:
    """One of some texts."""
    return choices[int(rng.integers(len(choices)))]
