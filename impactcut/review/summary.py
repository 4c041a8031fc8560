"""The one-page summary as a single HTML file that loads nothing and runs nothing."""

from __future__ import annotations

import base64

from impactcut.review.assets import SUMMARY_STYLE, asset, asset_hash, template
from impactcut.workflow.clock import as_read
from impactcut.workflow.reports.summarising import Summary


def render_summary(summary: Summary) -> str:
    """HTML of the page."""
    style = "\n" + asset(SUMMARY_STYLE)
    policy = f"default-src 'none'; style-src {asset_hash(style)}; img-src data:; base-uri 'none'"
    pictures = {
        remark.hit.id: "data:image/jpeg;base64," + base64.b64encode(remark.picture).decode()
        for remark in summary.remarks
        if remark.picture is not None
    }
    overview = base64.b64encode(summary.picture.encode()).decode()
    return template("summary.html").render(
        summary=summary,
        policy=policy,
        style=style,
        pictures=pictures,
        made=as_read(summary.made),
        overview=f"data:image/svg+xml;base64,{overview}",
    )
