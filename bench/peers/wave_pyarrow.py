"""pyarrow.csv, numpy answers. argv: CSV"""

import sys
from common import *
import pyarrow as pa, pyarrow.csv as pc, numpy as np

mark("import")
from wave_core import *

k, fs = header(sys.argv[1])
f = pa.float64()
d = pc.read_csv(
    sys.argv[1],
    read_options=pc.ReadOptions(block_size=8 << 20, skip_rows=k, column_names=["t", "a", "b"]),
    convert_options=pc.ConvertOptions(column_types={"t": f, "a": f, "b": f}, include_columns=["t", "a"]),
)
mark("parse")
emit(
    "wave",
    "pyarrow",
    answer(
        np.concatenate([np.frombuffer(k.buffers()[1], np.float64, len(k), k.offset * 8) for k in d["a"].chunks]),
        fs,
        d["t"][0].as_py(),
    ),
)
