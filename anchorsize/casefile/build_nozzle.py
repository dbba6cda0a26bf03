"""What must stand beside the greatest force on a nozzle or pipe: whether it counts the pressure end load."""

from __future__ import annotations

from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.format_joint import AllowEntry
from anchorsize.casefile.leaves import whole

HINT = (
    "write `included` where the maker's figure counts the pressure end load on the bore, `excluded` where it is meant beside the "
    "pressure; the maker's sheet says which"
)


def judge_pressure_thrust(building: Building) -> None:
    """A force or axial force allowed at a joint says, there or in what it goes before, whether pressure is in it."""
    file = building.file
    joints = [(name, entry.allow) for name, entry in whole(file.joints)]
    general = _says(file.allow)
    each_says = general or (bool(joints) and all(_says(allow) for _, allow in joints))
    asking: list[tuple[Path, AllowEntry | None, bool]] = [(("allow",), file.allow, each_says)]
    asking += [(("joints", name, "allow"), allow, general) for name, allow in joints]
    asking += [(("cases", name, "allow"), entry.allow, each_says) for name, entry in whole(file.cases)]
    for path, allow, said in asking:
        if allow is not None and (allow.force or allow.axial) and not (said or _says(allow)):
            key = "force" if allow.force else "axial"
            building.problem(
                (*path, "pressure_thrust"), f"'pressure_thrust' is missing beside '{key}'", HINT, "missing_key"
            )


def _says(allow: AllowEntry | None) -> bool:
    return allow is not None and allow.pressure_thrust is not None
