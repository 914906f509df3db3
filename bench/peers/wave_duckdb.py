"""DuckDB parses, numpy answers. argv: CSV"""

import sys
from common import *
import duckdb, numpy as np

mark("import")
from wave_core import *

k, fs = header(sys.argv[1])
d = (
    duckdb.connect()
    .execute(
        f"select t,a from read_csv('{sys.argv[1]}', header=false, skip={k}, auto_detect=false, delim=',', quote='', escape='', new_line='\\r\\n', columns={{'t':'DOUBLE','a':'DOUBLE','b':'DOUBLE'}})"
    )
    .fetchnumpy()
)
mark("parse")
emit("wave", "duckdb_np", answer(np.asarray(d["a"]), fs, d["t"][0]))
