"""Commands that hold the plan against what is asked, and against what stands."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from armature.edge import System


def fit(
    file: Annotated[Path, typer.Argument(metavar="COMMISSION", help="Commission file, TOML.")],
    ways: Annotated[bool, typer.Option(help="Look for ways out where too many leaves strike.")] = True,
) -> None:
    """Say whether the leaves fit the crown: how many would strike, what metal it takes, and the ways out."""
    from armature.commission import read, telling_of
    from armature.edge import format_length, format_mass
    from armature.fit import WANTED, fit_of, ways_out

    commission = read(file)
    with telling_of(commission):
        asked = fit_of(commission)
        units = commission.units
        typer.echo(
            f"{commission.title}: {asked.leaves:,} leaves of "
            f"{format_length(commission.leaves.length, commission.units)}"
        )
        typer.echo(_line("as asked", asked.striking, asked.share, asked.metal_kg, units))
        sheets = format_mass(asked.sheet_kg, units)
        typer.echo(f"- sheet to buy about {sheets}, about {asked.per_foot:.1f} leaves from a square foot")
        steel = ", ".join(f"{n} of {format_length(mm, commission.units)}" for mm, n in sorted(asked.twigs.items()))
        typer.echo(f"- twigs, at their foot: {steel}")
        if asked.share <= WANTED or not ways:
            return
        typer.echo(f"ways to bring that under {WANTED:.0%}:")
        for way, refusal_or_fit in ways_out(commission):
            serves = "" if refusal_or_fit.share <= WANTED else " (not enough alone)"
            typer.echo(
                _line(
                    f"{way}: {refusal_or_fit.words}",
                    refusal_or_fit.striking,
                    refusal_or_fit.share,
                    refusal_or_fit.metal_kg,
                    units,
                )
                + serves
            )


def _line(words: str, striking: int, share: float, kg: float, units: System) -> str:
    from armature.edge import format_mass

    metal = format_mass(kg, units)
    return f"- {words}: {striking} strike too often, {share:.1%}; leaves weigh {metal}"


def overlay(
    job: Annotated[Path, typer.Argument(help="Job folder, or its design.json.")],
    photo: Annotated[Path, typer.Argument(help="Photograph of the half-made crown from the marked standpoint.")],
    stand: Annotated[Path, typer.Argument(help="CSV mark,x_mm,y_mm,z_mm: where printed marks and the eye stand.")],
    out: Annotated[Path, typer.Option(help="Folder for overlay.png and overlay.csv, made if need be.")],
    made: Annotated[
        Path | None, typer.Option(help="List of members that stand, a tag a line; the job's made.csv.")
    ] = None,
) -> None:
    """Lay a photograph over the plan: where the crown is denser or thinner, and which of the next twigs helps there."""
    from armature.front import load
    from armature.made import made_tags
    from armature.overlay import TOLD, overlay_png, overlay_text
    from armature.overlay import overlay as laid_over

    tree, _ = load(job)
    listed = made or (job if job.is_dir() else job.parent) / "made.csv"
    overlaid = laid_over(tree, photo, stand, made_tags(listed))
    out.mkdir(parents=True, exist_ok=True)
    (out / "overlay.png").write_bytes(overlay_png(overlaid))
    (out / "overlay.csv").write_text(overlay_text(overlaid), encoding="utf-8", newline="\n")
    dense, thin = (int((sign * overlaid.fields > TOLD).sum()) for sign in (1, -1))
    typer.echo(f"camera {overlaid.camera.place[2] / 1000:.2f} m up, marks within {overlaid.camera.error:.1f} pixels")
    typer.echo(f"{thin} fields are thinner than the plan, {dense} denser")
    for tag, share in overlaid.helps[:8]:
        typer.echo(f"- {tag} helps: {share:.0%} of its silhouette fills what is missing")
    typer.echo(f"wrote {out}")
