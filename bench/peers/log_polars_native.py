"""polars lazy all the way (streaming engine): nothing but the answer leaves the engine. argv: CSV"""

import sys
from common import *
import polars as pl

mark("import")
p = sys.argv[1]
c = pl.col
lf = pl.scan_csv(
    p, schema={"time": pl.String, "volts": pl.Float64, "amps": pl.Float64, "watts": pl.Float64, "kwh": pl.Float64}
)
lf = lf.with_columns(
    t=c("time").str.to_datetime("%Y-%m-%dT%H:%M:%S.%3f", time_unit="ms", cache=False).to_physical()
).drop("time")
lf = lf.with_columns(dt=c("t").diff(), e=(c("watts") + c("watts").shift(1)) * 0.5 * c("t").diff(), on=c("watts") >= 5.0)
df = lf.collect()
mark("parse")
ok = c("dt") <= 5000
a = df.select(
    pl.len().alias("rows"),
    (c("e").filter(ok).sum() / 3.6e6).alias("wh"),
    (c("dt") > 5000).sum().alias("gaps"),
    (c("dt").filter(c("dt") > 5000).sum() / 1e3).alias("gap_s"),
    ((c("kwh").last() - c("kwh").first()) * 1000).round(3).alias("meter_wh"),
    *[getattr(c(k), m)().alias(f"{k}_{m}") for k in ("volts", "amps", "watts") for m in ("min", "mean", "max")],
).row(0, named=True)
runs = (
    df.lazy()
    .with_columns(r=c("on").rle_id())
    .group_by("r")
    .agg(c("on").first(), c("t").first().alias("t0"), c("t").last().alias("t1"))
    .sort("r")
    .with_columns(te=c("t0").shift(-1).fill_null(c("t1")))
    .collect()
)
cut = runs.filter(~c("on") & (c("r") > 0) & (c("te") - c("t0") >= 60000)).head(1)["t0"]
tc = cut[0] if len(cut) else None
whc = df.lazy().filter((c("t") <= tc) & ok).select(c("e").sum() / 3.6e6).collect().item() if tc is not None else None
st = {k: {m: a.pop(f"{k}_{m}") for m in ("min", "mean", "max")} for k in ("volts", "amps", "watts")}
iso = pl.Series([tc]).cast(pl.Datetime("ms")).dt.strftime("%Y-%m-%dT%H:%M:%S%.3f")[0] if tc is not None else None
emit(
    "log",
    "polars_native",
    {
        "rows": a["rows"],
        "wh": a["wh"],
        "gaps": a["gaps"],
        "gap_s": a["gap_s"],
        "cutoff": iso,
        "wh_to_cutoff": whc,
        "meter_wh": a["meter_wh"],
        **st,
    },
)
