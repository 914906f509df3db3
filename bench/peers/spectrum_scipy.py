"""scipy.fft.rfft (pocketfft, float32, all cores). argv: NPY"""

import sys, os
from common import *
import numpy as np, scipy.fft as sf

mark("import")
from spectrum_core import *

x = np.load(sys.argv[1], mmap_mode="r")
N = 200_000
W = x.size // N
p = np.empty((W, 512))
mark("load")
B = 10
for i in range(0, W, B):
    X = sf.rfft(np.asarray(x[i * N : min(W, i + B) * N]).reshape(-1, N), workers=os.cpu_count())[:, :512]
    p[i : i + X.shape[0]] = X.real.astype(float) ** 2 + X.imag.astype(float) ** 2
emit("spectrum", "scipy_fft", answer(*from_power(p)))
