"""How a picture's classes look: by the roles of static/css/tokens.css.

static/css/figure.css holds the same rules for pages; a picture that stands alone carries them.
"""

from __future__ import annotations

RULES = """\
.figure { display: block; width: 100%; height: auto; }
.figure path, .figure circle { fill: none; stroke: var(--ink); stroke-width: 1.7; }
.figure path { stroke-linejoin: round; stroke-linecap: round; }
.figure .skin { fill: var(--sheet); }
.figure .faint { stroke: color-mix(in srgb, var(--ink) 62%, var(--sheet)); stroke-width: 1.2; }
.figure .nail, .figure .crease { stroke-width: 1.1; }
.figure .axis { stroke: none; }
.figure .j { stroke: none; }
.figure .pivot { fill: var(--accent); }
.figure .ghost { fill: var(--sheet); stroke-width: 1.4; stroke-dasharray: 4 3.4; }
.figure .shell, .figure .stiff { fill: color-mix(in srgb, var(--accent) 34%, var(--sheet)); }
.figure .strap, .figure .sling { fill: color-mix(in srgb, var(--accent) 72%, var(--sheet)); }
.figure .strap, .figure .sling { stroke-width: 1.2; }
.figure .wrap, .figure .pad { fill: var(--paper); }
.figure .turn { stroke: var(--rule); stroke-width: 1.1; }
.figure .grain { stroke: var(--rule); stroke-width: 1.8; }
.figure .inner { stroke: none; }
.figure .wire { stroke-width: 3; }
.figure .opening { stroke: var(--accent); stroke-width: 2.2; }
.figure .wheel { fill: var(--sheet); }
.figure .rubber { stroke: var(--accent); stroke-width: 2; }
.figure .cushion { fill: var(--paper); }
.figure .tuck { stroke-width: 1.1; }
.figure .arc, .figure .head { stroke: var(--accent); stroke-width: 3.2; }
.figure .arc.band, .figure .head.band { stroke-width: 2.4; }
.figure .arc.band { stroke-dasharray: 5 4.4; }
.figure .limit { stroke-width: 4.5; stroke-linecap: butt; }
.figure .hatch { stroke-width: 1.5; }
.figure .disc { fill: var(--sheet); stroke: var(--accent); stroke-width: 1.4; }
.figure text { fill: var(--accent); font: 700 14.5px system-ui, sans-serif; text-anchor: middle; }
.figure .halo { stroke: var(--sheet); stroke-width: 9; }
.figure .never { stroke: var(--attention); stroke-width: 9; stroke-opacity: .45; }
.figure .cross { stroke: var(--attention); stroke-width: 5; }
.figure .no-sign { stroke: var(--attention); stroke-width: 5; }
.figure .round { stroke: var(--attention); stroke-width: 2.6; }
.figure .past, .figure .past-head { stroke: var(--attention); stroke-width: 3.2; }
.figure .edge { stroke-width: 4.5; stroke-linecap: butt; }
.figure .tendon { stroke: var(--accent); stroke-width: 1.8; stroke-dasharray: .1 3.6; }
.figure .repair { fill: var(--sheet); stroke-width: 1.4; }
.figure .pad-mark { fill: var(--accent); stroke: none; }
.figure .mark { fill: var(--accent); stroke: none; }
.figure .chosen { fill: color-mix(in srgb, var(--accent) 14%, var(--sheet)); }
.figure path.chosen { stroke: none; }
.figure .yoke-edge { stroke-width: 7.4; }
.figure .yoke-band { stroke: color-mix(in srgb, var(--accent) 34%, var(--sheet)); }
.figure .yoke-band { stroke-width: 4.4; }
.figure .step { fill: var(--rule); stroke: none; }
.figure .to-and-fro { stroke: var(--accent); stroke-width: 2.6; }
.figure.moves .still { display: none; }
@media (prefers-reduced-motion: reduce), print {
  .figure.moves .still { display: inline; }
  .figure .moving { display: none; }
}
"""
ROLES = ("paper", "sheet", "ink", "rule", "accent", "attention")
LIGHT = ("#f0f3f0", "#ffffff", "#14212b", "#71807f", "#0a4a63", "#74400a")
DARK = ("#10181d", "#1a252b", "#eef3f1", "#83949a", "#94d3e8", "#f2bd72")


def standalone(svg: str) -> str:
    """A picture with its style inside, for a file or an <img>."""
    light, dark = _bound(LIGHT), _bound(DARK)
    style = f"{light}@media (prefers-color-scheme:dark){{{dark}}}@media print{{{light}}}{RULES}"
    head, tail = svg.split("</desc>", 1)
    return f"{head}</desc><style>{style}</style>{tail}"


def _bound(colours: tuple[str, ...]) -> str:
    return f".figure{{{''.join(f'--{r}:{c};' for r, c in zip(ROLES, colours, strict=True))}}}"
