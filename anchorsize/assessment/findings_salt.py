"""That salt water attacks bolts, which no check looks at: a verdict on strength says nothing of it."""

from __future__ import annotations

import re

from anchorsize.assessment.findings_lubricant import is_stainless
from anchorsize.assessment.results import Finding
from anchorsize.study import Joint, Study

IN_SALT_WATER = "bolts in salt water"
SALT = re.compile(r"\bsea ?water|\bbrine|\bbrackish|\bsalt|\bchlor", re.IGNORECASE)
"""Words in the name of a fluid that has chlorides in it."""


def notice_salt(study: Study) -> tuple[Finding, ...]:
    """One finding for each joint of a fluid whose name says that it is salt. Common practice, no source."""
    if not SALT.search(study.fluid.name):
        return ()
    return tuple(_in_salt(study, joint) for joint in study.joints.values())


def _in_salt(study: Study, joint: Joint) -> Finding:
    of = f" of {joint.bolts.property_class}" if joint.bolts.property_class else ""
    harm = (
        "stainless ones pit, corrode in the crevices of a joint and can crack under preload (A2 and 304 are not for it, A4 and 316 only "
        "where who answers for the materials agrees), and beside carbon steel they eat it"
        if is_stainless(joint)
        else "steel wastes away, fastest in the crevices of a joint and beside a nobler metal"
    )
    return Finding(
        IN_SALT_WATER,
        None,
        f"Joint '{joint.name}': CORROSION IS NOT JUDGED, and '{study.fluid.name}' attacks bolts{of}: {harm} (common practice, no source). "
        "Margins that are alike do not make classes alike.",
    )
