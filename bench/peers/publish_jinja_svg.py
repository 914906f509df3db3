"""The strong Python way: jinja2 (autoescape) for pages, charts as SVG text by hand (no plotting library). argv: JSON OUTDIR"""

import sys, os, json
from common import *
import jinja2

mark("import")
src, out = sys.argv[1:3]
os.makedirs(out + "/c", exist_ok=True)
units = json.load(open(src))
mark("parse")
env = jinja2.Environment(autoescape=True)
PAGE = env.from_string(
    """<!doctype html><html lang="en"><meta charset="utf-8"><title>{{u.name}}</title><link rel="stylesheet" href="s.css"><h1>{{u.name}}</h1>
<table>{% for k,v in u.facts.items() %}<tr><th>{{k}}<td>{{v}}{% endfor %}</table>
<table>{% for c in u.claims %}<tr><td>{{c.claim}}<td>{{c.stated}}<td>{{c.measured}} &#177; {{c.u}}<td>{{c.verdict}}{% endfor %}</table>
{% for c in u.charts %}<figure><img src="c/{{u.id}}-{{loop.index}}.svg" alt="{{c.title}}: {{c.y}} against {{c.x}}" width="640" height="360"><figcaption>{{c.title}}</figcaption></figure>{% endfor %}
<p><a href="index.html">all units</a></html>"""
)
IDX = env.from_string(
    """<!doctype html><html lang="en"><meta charset="utf-8"><title>Comparison</title><link rel="stylesheet" href="s.css"><table><thead><tr><th>unit{% for k in us[0].facts %}<th>{{k}}{% endfor %}<tbody>
{% for u in us %}<tr><th><a href="{{u.id}}.html">{{u.name}}</a>{% for v in u.facts.values() %}<td>{{v}}{% endfor %}
{% endfor %}</table></html>"""
)


def esc(s):
    return s.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")


def svg(c):
    xs, ys = c["xs"], c["ys"]
    x0, x1 = min(xs), max(xs)
    y0, y1 = min(ys), max(ys)
    y1 += y1 == y0
    fx = 570 / (x1 - x0)
    fy = 290 / (y1 - y0)
    pts = " ".join([f"{50 + (x - x0) * fx:.1f},{320 - (y - y0) * fy:.1f}" for x, y in zip(xs, ys)])
    tk = "".join(
        [
            f'<line x1="50" x2="620" y1="{320-58*i}" y2="{320-58*i}" stroke="#ddd"/><text x="44" y="{324-58*i}" text-anchor="end">{y0+(y1-y0)*i/5:.0f}</text>'
            for i in range(6)
        ]
    )
    tx = "".join([f'<text x="{50+114*i}" y="338" text-anchor="middle">{x0+(x1-x0)*i/5:.1f}</text>' for i in range(6)])
    L = 320 - (c["limit"] - y0) * fy
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 640 360" font-family="sans-serif" font-size="11" role="img"><title>{esc(c["title"])}</title>{tk}{tx}'
        f'<polyline fill="none" stroke="#1f5fa8" stroke-width="1.5" points="{pts}"/><line x1="50" x2="620" y1="{L:.1f}" y2="{L:.1f}" stroke="#b33" stroke-dasharray="4 3"/>'
        f'<text x="320" y="355" text-anchor="middle">{esc(c["x"])}</text><text x="12" y="180" transform="rotate(-90 12 180)" text-anchor="middle">{esc(c["y"])}</text></svg>'
    )


nb = 0
nc = 0


def w(name, s):
    global nb
    b = s.encode()
    nb += len(b)
    with open(f"{out}/{name}", "wb") as f:
        f.write(b)


w("s.css", "body{font:16px sans-serif}")
for u in units:
    w(u["id"] + ".html", PAGE.render(u=u))
    for i, c in enumerate(u["charts"], 1):
        w(f"c/{u['id']}-{i}.svg", svg(c))
        nc += 1
w("index.html", IDX.render(us=units))
emit("publish", "jinja2_handmade_svg", {"pages": len(units) + 1, "charts": nc, "_bytes": nb})
