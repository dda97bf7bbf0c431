"""Rival for the loop benchmark: Gaussian processes on the numeric grades with constrained expected improvement.

Reads one JSON question per line, answers one JSON line: {"next": [[power, speed, dpi], ...]} and, where wanted is 0,
{"chosen": [power, speed, dpi]}. Needs Debian's python3-sklearn (scikit-learn 1.2, scipy).

Expected improvement of frost times the probability of few enough chips (Gardner et al., ICML 2014), batches by
believing the predicted mean (Ginsbourger, Le Riche & Carraro 2010). Opening points: scrambled Sobol in the inner
80 % of each log range, as frostcal's own opening.
"""
import json
import sys
import warnings

import numpy as np
from scipy.stats import norm, qmc
from sklearn.exceptions import ConvergenceWarning
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import ConstantKernel, Matern, WhiteKernel

warnings.filterwarnings("ignore", category=ConvergenceWarning)


def lattice(question):
    power = np.arange(question["power"][0], question["power"][1] + 1)
    speed = np.arange(question["speed"][0], question["speed"][1] + 1)
    dpi = np.array(question["dpi"], dtype=float)
    p, s, d = np.meshgrid(power, speed, dpi, indexing="ij")
    return np.column_stack([p.ravel(), s.ravel(), d.ravel()])


def coded(points, question):
    low = np.log([question["power"][0], question["speed"][0], min(question["dpi"])])
    high = np.log([question["power"][1], question["speed"][1], max(question["dpi"])])
    return 2 * (np.log(points) - low) / (high - low) - 1


def opening(question, wanted):
    inner = 0.1 + 0.8 * qmc.Sobol(3, seed=question["seed"]).random(16)[:wanted]
    low = np.log([question["power"][0], question["speed"][0], min(question["dpi"])])
    high = np.log([question["power"][1], question["speed"][1], max(question["dpi"])])
    return np.exp(low + inner * (high - low))


def kernel():
    return ConstantKernel(2.0, (0.05, 50)) * Matern([0.7, 0.7, 0.7], (0.1, 10), nu=2.5) + WhiteKernel(0.2, (0.02, 2))


def fitted(x, y, fixed=None):
    process = GaussianProcessRegressor(fixed or kernel(), normalize_y=True, n_restarts_optimizer=0 if fixed else 1,
                                       optimizer=None if fixed else "fmin_l_bfgs_b", random_state=1)
    return process.fit(x, y)


def good_chance(frost, chipping, x, bar):
    mean_f, sd_f = frost.predict(x, return_std=True)
    mean_c, sd_c = chipping.predict(x, return_std=True)
    return norm.sf(bar[0] - 0.5, mean_f, sd_f) * norm.cdf(bar[1] + 0.5, mean_c, sd_c)


def answer(question):
    wanted, bar = question["wanted"], question["bar"]
    if not question["seen"]:
        return {"next": opening(question, wanted).tolist()}
    seen = np.array(question["seen"], dtype=float)
    x, frost, chips = coded(seen[:, :3], question), seen[:, 3], seen[:, 4]
    frost_process, chip_process = fitted(x, frost), fitted(x, chips)
    everything = lattice(question)
    if wanted == 0:
        chance = good_chance(frost_process, chip_process, coded(everything, question), bar)
        return {"chosen": everything[np.argmax(chance)].tolist()}

    random = np.random.default_rng(question["seed"] * 1000 + len(seen))
    candidates = everything[random.choice(len(everything), 4000, replace=False)]
    xc = coded(candidates, question)
    chosen = []
    for _ in range(wanted):
        mean_f, sd_f = frost_process.predict(xc, return_std=True)
        mean_c, sd_c = chip_process.predict(xc, return_std=True)
        feasible = frost_process.predict(x)[chip_process.predict(x) < bar[1] + 0.5]
        incumbent = feasible.max() if len(feasible) else frost.min()
        z = (mean_f - incumbent) / sd_f
        improvement = sd_f * (z * norm.cdf(z) + norm.pdf(z))
        best = np.argmax(improvement * norm.cdf(bar[1] + 0.5, mean_c, sd_c))
        chosen.append(candidates[best].tolist())
        x = np.vstack([x, xc[best]])
        frost, chips = np.append(frost, mean_f[best]), np.append(chips, mean_c[best])
        frost_process = fitted(x, frost, frost_process.kernel_)
        chip_process = fitted(x, chips, chip_process.kernel_)
    return {"next": chosen}


for line in sys.stdin:
    print(json.dumps(answer(json.loads(line))), flush=True)
