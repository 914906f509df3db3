"""polars scan_csv, only the needed channel asked for (lazy projection). argv: CSV"""

import sys
from common import *
import polars as pl, numpy as np

mark("import")
from wave_core import *

k, fs = header(sys.argv[1])
lf = pl.scan_csv(
    sys.argv[1], skip_lines=k, has_header=False, schema={"t": pl.Float64, "a": pl.Float64, "b": pl.Float64}
)
t0 = lf.select("t").head(1).collect().item()
v = lf.select("a").collect()["a"].to_numpy()
mark("parse")
emit("wave", "polars_1col", answer(v, fs, t0))
