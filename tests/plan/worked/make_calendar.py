"""Finish dates by numpy's business days (numpy.busday_offset), which knows nothing of this project. Writes calendar.json."""

import json
import random
from datetime import date, timedelta

import numpy as np

random.seed(23)
DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
cases = []
for _ in range(60):
    start = date(2024, 1, 1) + timedelta(days=random.randrange(1500))
    open_days = sorted(random.sample(range(7), random.choice([1, 3, 4, 5, 5, 6, 7])))
    closed = sorted({str(start + timedelta(days=random.randrange(90))) for _ in range(random.choice([0, 1, 3, 12]))})
    work = random.choice([1, 2, 5, 13, 30, 61])
    mask = "".join("1" if i in open_days else "0" for i in range(7))
    # The first day of work is the first open day from the start; the n-th is n - 1 open days further.
    end = np.busday_offset(str(start), work - 1, roll="forward", weekmask=mask, holidays=closed)
    cases.append({"start": str(start), "workdays": [DAYS[i] for i in open_days], "holidays": closed, "days": work, "end": str(end)})
with open("calendar.json", "w") as file:
    json.dump({"from": f"numpy {np.__version__} busday_offset", "cases": cases}, file)
    file.write("\n")
