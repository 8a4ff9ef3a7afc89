"""VINs read by what a vehicle line says of them: warnings, never refusals."""

from __future__ import annotations

from asfound.car.fitting import possible
from asfound.car.vehicles import Equipment, Market, Model, Phase, VehicleLine
from asfound.car.vin import VinCodes, VinModelYear, VinPattern, VinSays, VinSerials, check_digit
from asfound.car.vin_reading import read_vin


def line(id: str = "gannet", **pattern: object) -> VehicleLine:
    defaults: dict[str, object] = {
        "begins": ("0GN",),
        "check_digit": False,
        "positions": (
            VinCodes(4, 4, {"S": VinSays(models=("short",)), "L": VinSays(models=("long",))}),
            VinCodes(5, 6, {"A1": VinSays(equipment=("hook",)), "A0": VinSays(without=("hook",))}),
            VinCodes(7, 7, {"N": VinSays(markets=("north",))}),
        ),
        "model_year": VinModelYear(10, 8),
        "serials": (
            VinSerials(13, 17, "00001", "00999", VinSays(built=("2015-01", "2015-01"))),
            VinSerials(13, 17, "01000", "01999", VinSays(phases=("2",)), ((11, "K"),)),
        ),
    }
    return VehicleLine(
        id,
        id.capitalize(),
        "",
        (
            Phase("1", "Phase 1", ("2015-01", "2018-06"), ""),
            Phase("2", "Phase 2", ("2018-07", None), ""),
        ),
        (Model("short", "Short", ""), Model("long", "Long", "", ("2",))),
        (Equipment("hook", "a hook", ""),),
        (),
        (Market("north", "North", ""), Market("south", "South", "")),
        vin=VinPattern(**{**defaults, **pattern}),  # type: ignore[arg-type]
    )


LINES = {"gannet": line()}


def vin(
    model: str = "S", kit: str = "A0", market: str = "N", year: str = "K", plant: str = "J", n: int = 5000
) -> str:
    return f"0GN{model}{kit}{market}00{year}{plant}0{n:05d}"


def test_everything_a_pattern_says() -> None:
    got = read_vin(vin(n=7, year="F", kit="A1").lower(), LINES)
    assert got.warnings == ()
    assert (got.line, got.models, got.phases, got.markets) == (
        "gannet",
        frozenset(("short",)),
        frozenset(("1",)),
        frozenset(("north",)),
    )
    assert got.built == ("2015-01", "2015-01")
    assert got.known().built == "2015-01"
    assert got.equipment == {"hook": True}
    assert possible(got.known(), LINES)


def test_a_model_year_leaves_its_months_and_phases() -> None:
    got = read_vin(vin(year="K"), LINES)  # model year 2019, from August 2018
    assert got.built == ("2018-08", "2019-07")
    assert got.phases == frozenset(("2",))
    assert got.known().built is None
    across = read_vin(vin(year="J"), LINES)  # August 2017 to July 2018: both phases
    assert across.phases is None and across.warnings == ()


def test_a_serial_number_counts_only_in_its_works() -> None:
    assert read_vin(vin(n=1500, plant="K", year="L"), LINES).phases == frozenset(("2",))
    assert read_vin(vin(n=1500, plant="J", year="J"), LINES).phases is None


def test_warnings_never_refusals() -> None:
    assert "no code known here" in read_vin(vin(model="X"), LINES).warnings[0]
    assert read_vin(vin(model="X"), LINES).line == "gannet"
    assert "not one of this line" in read_vin(vin(year="A"), LINES).warnings[0]  # 1980 or 2010
    nobody = read_vin("9ZZ" + vin()[3:], LINES)
    assert nobody.line is None and "begin" in nobody.warnings[0]
    assert "says how" in read_vin(vin(), {}).warnings[0]
    short = read_vin(vin()[:9], LINES)
    assert short.line == "gannet" and short.models == frozenset(("short",)) and "9" in short.warnings[0]


def test_a_contradiction_tells_nothing_but_the_line() -> None:
    got = read_vin(vin(model="L", n=7, year="F"), LINES)  # the long one was not made in phase 1
    assert got.models is None and got.line == "gannet"
    assert "No such car" in got.warnings[-1]


def test_the_check_digit_only_where_the_line_uses_it() -> None:
    strict = {"gannet": line(check_digit=True)}
    plain = vin()
    right = plain[:8] + check_digit(plain) + plain[9:]
    wrong = plain[:8] + ("0" if check_digit(plain) != "0" else "1") + plain[9:]
    assert read_vin(right, strict).warnings == ()
    assert "check digit" in read_vin(wrong, strict).warnings[0]
    assert read_vin(wrong, LINES).warnings == ()


def test_the_longest_beginning_wins() -> None:
    lines = {"gannet": line(), "tern": line("tern", begins=("0GNS",))}
    assert read_vin(vin(), lines).line == "tern"
    assert read_vin(vin(model="L"), lines).line == "gannet"
