"""The report as a page of text: assumptions first, then the verdict, then every figure with its unit and clause."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

_BOUNDS = {"plates": "leaves as plates", "streaming": "leaves streaming", "iced": "iced"}


def page(said: Mapping[str, Any]) -> str:
    """Return the report in Markdown, from the record that `record` makes."""
    parts = [
        "# Will it stand",
        f"**{said['caution']}**",
        _assumptions(said),
        _verdict(said),
        _site(said),
        _loads(said),
        _checks(said),
        _weakest(said),
        _foot(said),
        _movement(said),
        _welds(said),
        _fatigue(said),
        _lifetime(said),
        _contact(said),
        _ties(said),
        _people(said),
        f"**{said['caution']}**",
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _assumptions(said: Mapping[str, Any]) -> str:
    rows = [(each["what"], each["value"], each["why"]) for each in said["assumed"]]
    gaps = "\n".join(f"- **{gap}**" for gap in said["verdict"]["gaps"])
    missing = f"\n\nMissing, and so left out:\n\n{gaps}" if gaps else ""
    left = "; ".join(said["not_covered"])
    return (
        "## Assumed\n\nNobody gave these values; each has to be confirmed.\n\n"
        + _grid(("value", "taken as", "because"), rows)
        + missing
        + f"\n\nNot covered: {left}."
    )


def _verdict(said: Mapping[str, Any]) -> str:
    judged = said["verdict"]
    reasons = "\n".join(f"- {each}" for each in judged["reasons"])
    sets = [(each["title"], _n(each["ratio"])) for each in said["governing"]]
    text = f"## Verdict: {judged['word']}"
    words = {"new": "new", "at_renewal": "at renewal", "at_years": f"at {said['site']['years']} years"}
    text += "\n\n" + "; ".join(f"{words[key]}: ratio {_ratio(each)}" for key, each in judged["ratios"].items()) + "."
    text += f"\n\n{reasons}" if reasons else ""
    text += f"\n\nWorst ratio of all checks: {_n(said['worst_ratio'])}."
    for bound, ratio in said["worst_ratio_by_leaves"].items():
        text += f" Leaves as {bound}: worst member {_n(ratio)} in strength."
    text += f"\n\n**Years:** {judged['years']}." if judged["years"] else ""
    text += "\n\nWorst ratio of any member, by set of cases; the first governs. Over 1 fails.\n\n"
    return text + _grid(("cases", "ratio"), sets)


def _site(said: Mapping[str, Any]) -> str:
    site = said["site"]
    rows = [
        ("wind standard", site["standard"]),
        ("steel standard", site["steel_standard"]),
        ("steel", f"{site['grade']}, yield {_range(site['yield_mpa'])} MPa, tensile {_n(site['tensile_mpa'])} MPa"),
        ("basic wind speed", _unit(site["wind_speed_m_s"], "m/s")),
        ("exposure", site["exposure"] or "missing"),
        ("snow on the ground", _unit(site["snow_kpa"], "kPa")),
        ("ice, radial", _unit(site["ice_mm"], "mm")),
        ("wind with ice", _unit(site["ice_wind_m_s"], "m/s")),
        ("damping", f"{_n(100 * site['damping_share'])} % of critical"),
        ("air", f"ISO 9223 {site['corrosivity']}, coat: {site['coat']}"),
        ("asked life", f"{site['years']} years"),
    ]
    chance = site["chance_of_design_wind"]
    if chance is not None:
        words = f"{_n(100 * chance['chance'])} % in {chance['over_years']} years"
        period = f"a wind of once in {chance['recurrence_years']} years"
        rows.append(("chance that the wind speed is passed", f"{words}, {period} ({chance['clause']})"))
        if "speed_factor_for_the_years" in chance:
            rows.append(("speed of that many years", f"{_n(chance['speed_factor_for_the_years'])} of the basic speed"))
    return "## Site\n\n" + _grid(("what", "value"), rows)


def _loads(said: Mapping[str, Any]) -> str:
    loads = said["loads"]
    rows = [
        ("steel", f"{_n(loads['steel_kg'])} kg"),
        ("leaves and loops", f"{_n(loads['leaves_kg'])} kg"),
        ("faces of all leaves", f"{_n(loads['leaf_face_m2'])} m2"),
    ]
    if "wind" in loads:
        wind, gust = loads["wind"], loads["gust"]
        rows += [
            ("wind pressure at the top", f"{_n(wind['pressure_at_top_pa'])} Pa ({wind['clause']})"),
        ]
        rows += [(f"gust factor, {_BOUNDS[bound]}", _gust(each)) for bound, each in gust.items()]
        rows += [
            (f"shear at the foot, {each['title']}", f"{_n(each['shear_kn'])} kN") for each in wind["service_shears"]
        ]
    text = "## Loads\n\n" + _grid(("what", "value"), rows)
    if "wind" in loads:
        text += (
            f"\n\nLeaves stand between two bounds: plates across the wind, drag {loads['leaf_drag']['plate']}"
            f" (Hoerner, Fluid-Dynamic Drag, ch. 3), and free streaming, drag {loads['leaf_drag']['streaming']}"
            " (Vogel, J. Exp. Bot. 40, 1989). A leaf that swings freely lies near the second; one that is stiff, jammed"
            " or iced lies at the first. Both are shown. The plates govern strength, since a storm may find leaves"
            " jammed; streaming governs fatigue, since none stays jammed for a life of gusts."
        )
    return text


def _gust(each: Mapping[str, Any]) -> str:
    spans = "; ".join(f"{row['rank']} {_n(row['least'])} to {_n(row['most'])}" for row in each["ranks"])
    return (
        f"{_n(each['factor'])} for the whole tree, which sways at {_n(each['frequency_hz'])} Hz, damping"
        f" {_n(100 * each['damping_share'])} % of critical, {_n(100 * each['air_damping_share'])} % of it by the air;"
        f" background {_n(each['background_squared'])}, resonant {_n(each['resonant_squared'])}, squared. {spans}"
        f" ({each['clause']})"
    )


def _checks(said: Mapping[str, Any]) -> str:
    rows = [
        (
            row["title"] + (f" (not in the verdict: {row['aside']})" if row["aside"] else ""),
            f"{_n(row['value'])} {row['unit']}".strip(),
            f"{_n(row['limit'])} {row['unit']}".strip(),
            _n(row["ratio"]),
            row["member"],
            row["case"],
            row["clause"],
            len(row["over"]),
        )
        for row in said["checks"]
    ]
    head = ("check", "value", "limit", "ratio", "at", "case", "clause", "members over")
    return "## Checks, worst first\n\n" + _grid(head, rows)


def _weakest(said: Mapping[str, Any]) -> str:
    ranked = sorted(said["members"], key=lambda each: (-each["ratio"], each["tag"]))[:20]
    rows = [(e["tag"], _n(e["ratio"]), e["check"], _n(e["station_mm"]), e["case"], e["clause"]) for e in ranked]
    head = ("member", "ratio", "check", "station, mm", "case", "clause")
    return "## The twenty weakest members\n\n" + _grid(head, rows)


def _foot(said: Mapping[str, Any]) -> str:
    rows = [
        (e["combination"], _n(e["vertical_kn"]), _n(e["shear_kn"]), _n(e["overturning_kn_m"]), _n(e["torsion_kn_m"]))
        for e in said["base"]
    ]
    head = ("combination", "down, kN", "shear, kN", "overturning, kN m", "torsion, kN m")
    rods, block, lug = (said["foot"][name] for name in ("anchors", "footing", "shear_lug"))
    text = (
        f"\n\nAnchors: {rods['count']} of {_n(rods['diameter_mm'])} mm on a circle of {_n(rods['circle_mm'])} mm, "
        f"{_n(rods['tension_n'] / 1000)} kN in the worst, ratio {_n(rods['ratio'])} ({rods['clause']}); "
        f"{_plate(said['foot']['plate'])}. A shear lug that takes the whole shear, {_n(lug['shear_n'] / 1000)} kN, off "
        f"them, where the engineer wants one: two plates crossed, {_n(lug['width_mm'])} mm wide, {_n(lug['depth_mm'])} "
        f"mm into the concrete, {_n(lug['thickness_mm'])} mm thick ({lug['clause']}). Footing: "
        f"{_n(block['side_mm'] / 1000)} m square, {_n(block['depth_mm'] / 1000)} m deep, what resists over what drives "
        f"{_n(block['safety'])} in tipping and {_n(block['sliding'])} in sliding ({block['clause']}), "
        f"{_n((block['pressure_mpa'] or 0) * 1000)} kPa on the soil. These are "
        f"{said['foot']['note']}."
    )
    return "## What the ground must hold\n\n" + _grid(head, rows) + text


def _plate(plate: Mapping[str, Any]) -> str:
    asked = f"{_n(plate['asked_side_mm'])} mm and {_n(plate['asked_thickness_mm'])} mm"
    if plate["side_mm"] == 0.0:
        return f"no plate, as the commission says; with one these anchors ask for {asked}"
    size = f"{plate['side_mm']:g} mm square and {plate['thickness_mm']:g} mm thick"
    return f"base plate {size}, of which the anchors ask for {asked}"


def _movement(said: Mapping[str, Any]) -> str:
    rows = [
        (
            e["rank"],
            e["tag"],
            _n(e["tip_mm"]),
            _n(e["sag_mm"]),
            _n(e["by_wind_mm"]),
            _n(e["joint_turn_deg"]),
            e["combination"],
        )
        for e in said["movement"]
    ]
    head = ("rank", "member", "tip moves, mm", "sag, mm", "by wind, mm", "foot turns, deg", "combination")
    tones = ", ".join(_n(each) for each in said["frequencies"]["lowest_hz"])
    text = f"\n\nLowest natural frequencies: {tones} Hz ({said['frequencies']['method']})."
    if any(each["is_beyond_linear"] for each in said["movement"]):
        text += (
            " Tips that move by more than a tenth of their member's length are beyond linear theory: the figure then"
            " says only that the member gives way far before the wind, and sheds it."
        )
    order = said["second_order"]
    share = _n(100 * order["worst_share"])
    most = _n(100 * order["limit"])
    text += f" Second order, weight and wind moved, adds {share} % of the moment at most, {most} % allowed"
    text += f" ({order['clause']})."
    return "## Movement in service\n\n" + _grid(head, rows) + text


def _welds(said: Mapping[str, Any]) -> str:
    joints = said["welds"]["joints"]
    grooves = sum(each["groove"] for each in joints)
    tired = sum(each["groove_for_fatigue"] for each in joints)
    legs = [each["leg_mm"] for each in joints if each["leg_mm"] is not None]
    text = (
        f"## Welds\n\n{grooves} joints need a groove of full penetration (no fillet is enough, or, in {tired} of "
        "them, fatigue asks for it); under a lean of 60 deg the heel of a fillet is filled and counted for nothing; "
    )
    text += f"{len(legs)} take a fillet all round" + (f", {_n(min(legs))} to {_n(max(legs))} mm leg" if legs else "")
    return text + f" ({said['welds']['clause']}). The size for each joint is in strength.json."


def _fatigue(said: Mapping[str, Any]) -> str:
    tired = said["fatigue"]
    if tired is None:
        return ""
    rows = []
    for bound in ("plates", "streaming"):
        each = tired[f"leaves_as_{bound}"]
        years = "no end" if each["years_to_1"] is None else _n(each["years_to_1"])
        stress = _n(each["gust_range_mpa"])
        sums = _n(each["miner_sum"])
        rows.append((f"leaves as {bound}", each["tag"], _n(each["ratio"]), stress, sums, years, len(each["over"])))
    lock = tired["lock_in"]
    head = ("gusts and lock-in", "worst weld", "ratio", "50-year range, MPa", "Miner sum", "years to 1", "welds over")
    text = (
        "\n\nThe ratio is one of stress; the Miner sum goes with its third to fifth power."
        f" Vortex lock-in is worst at {lock['tag']}: {_n(lock['range_mpa'])} MPa at"
        f" {_n(lock['critical_speed_m_s'])} m/s, swing {_n(lock['swing_mm'])} mm,"
        f" Scruton number {_n(lock['scruton'])}, ratio {_n(lock['ratio'])};"
        f" damping {_n(100 * tired['damping_share'])} % of critical. {tired['clause']}."
    )
    return "## Fatigue\n\n" + _grid(head, rows) + text


def _lifetime(said: Mapping[str, Any]) -> str:
    life = said["lifetime"]
    coats = [each["coat"] for each in life["losses"]]
    rows = [
        (
            e["rank"],
            e["tag"],
            _n(e["spare_mm_a_side"]),
            *(_years(each["years"], life) for each in e["first_fails"]),
        )
        for e in life["ranks"]
    ]
    head = ("rank", "weakest member", "can lose, mm a side", *(f"{coat}, years" for coat in coats))
    losses = "; ".join(f"{each['coat']} {_n(each['loss_mm_a_side'])} mm" for each in life["losses"])
    text = f"\n\nLoss a side after {life['years']} years in {life['corrosivity']}, coat never renewed: {losses}."
    if life["leaf_loss_mm_a_side"] is not None:
        text += f" Leaves ({life['leaf_metal']}): {_n(life['leaf_loss_mm_a_side'])} mm a side."
    plan = "\n".join(f"- {each['when']}: {each['what']}" for each in said["inspection"])
    details = "\n".join(f"- {each}" for each in said["details"])
    return (
        "## Years\n\nThe year in which each rank first fails a check as its bars waste, by coat.\n\n"
        + _grid(head, rows)
        + text
        + f" {life['clause']}.\n\n### Where steel dies first\n\n{details}\n\n### Inspection\n\n{plan}"
    )


def _contact(said: Mapping[str, Any]) -> str:
    touch = said["contact"]
    rows = [
        (
            e["where"],
            e["first"],
            e["second"],
            _n(e["difference_v"]),
            _n(e["allowed_v"]),
            "yes" if e["is_safe"] else "no",
            e["wastes"],
        )
        for e in touch["pairs"]
    ]
    head = ("where", "metal", "on", "apart, V", "allowed, V", "may touch", "wastes")
    advice = "\n".join(f"- {each}" for each in touch["isolation"])
    wear = touch["loop_wear"]
    text = (
        f"\n\nWear of a hang loop of {_n(touch['loop_wire_mm'])} mm wire, {wear['note']}: {_half(wear)}; "
        f"{_n(wear['depth_mm'])} mm in {_n(wear['years'])} years "
        f"({_n(wear['swings_a_year'])} swings a year of {_n(wear['slide_mm'])} mm, {_n(wear['load_n'])} N, k "
        f"{_n(wear['coefficient'])}, hardness {_n(wear['hardness_mpa'])} MPa; Archard, J. Appl. Phys. 24, 1953)."
    )
    return f"## Unlike metals\n\n{_grid(head, rows)}\n\n{advice}{text}\n\n({touch['clause']})"


def _ties(said: Mapping[str, Any]) -> str:
    if not said["ties"]:
        return ""
    rows = [(e["tie"], e["member"], e["to"], _n(e["length_mm"]), _n(e["force_n"])) for e in said["ties"]]
    return "## Ties\n\n" + _grid(("tie", "from", "to", "length, mm", "worst force, N, positive in tension"), rows)


def _people(said: Mapping[str, Any]) -> str:
    reach = said["within_reach"]
    text = (
        f"Within {_n(reach['reach_mm'])} mm of the ground: {_list(reach['checked'])} were checked for a pull of "
        f"{_n(reach['pull_n'])} N each. Branches and twigs whose thin end such a pull bends: "
        f"{_list(reach['a_hand_can_bend'])}; a branch takes it where it can bear it, so what carries it holds. "
        f"Tips under 2.1 m, to be blunted: {_list(reach['tips_below_2100_mm'])}."
    )
    return "## People\n\n" + text + "\n\n" + "\n".join(f"- {each}" for each in said["safety"])


def _grid(head: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(str(cell) for cell in line) + " |" for line in lines)


def _half(wear: Mapping[str, Any]) -> str:
    years = wear["years_to_half_wire"]
    return "never worn" if years is None else f"worn half through in about {_n(years)} years: renew it before then"


def _n(value: float | None) -> str:
    if value is None:
        return "none"
    if value == 0.0:
        return "0"
    return f"{value:.0f}" if abs(value) >= 1000.0 else f"{value:.3g}"


def _ratio(value: float | None) -> str:
    return "not said, or wasted through" if value is None else _n(value)


def _unit(value: float | None, unit: str) -> str:
    return "missing" if value is None else f"{_n(value)} {unit}"


def _range(pair: Sequence[float]) -> str:
    low, high = (_n(each) for each in pair)
    return low if low == high else f"{low} to {high}"


def _years(value: float, life: Mapping[str, Any]) -> str:
    if value <= 0.0:
        return "fails new"
    return f"over {_n(life['horizon_years'])}" if value >= life["horizon_years"] else _n(value)


def _list(tags: Sequence[str]) -> str:
    if not tags:
        return "none"
    return ", ".join(tags[:12]) + (f" and {len(tags) - 12} more" if len(tags) > 12 else "")
