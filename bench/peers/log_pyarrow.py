"""pyarrow.csv alone (no pandas), numpy answers. argv: CSV"""

import sys
from common import *
import pyarrow as pa, pyarrow.csv as pc

mark("import")
f = pa.float64()
d = pc.read_csv(
    sys.argv[1],
    read_options=pc.ReadOptions(block_size=8 << 20),
    convert_options=pc.ConvertOptions(
        column_types={"time": pa.timestamp("ms"), "volts": f, "amps": f, "watts": f, "kwh": f},
        timestamp_parsers=[pc.ISO8601],
    ),
)
mark("parse")
import numpy as np  # to_numpy would import pandas: view the buffers


def col(c):
    return np.concatenate(
        [
            np.frombuffer(k.buffers()[1], np.int64 if c == "time" else np.float64, len(k), k.offset * 8)
            for k in d[c].chunks
        ]
    )


from log_core import answer

emit("log", "pyarrow", answer(*(col(c) for c in ("time", "volts", "amps", "watts", "kwh"))))
