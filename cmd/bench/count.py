# The plain script a person would write instead: read the columns that matter, count per model, component and month.
import sys

import pandas as pd

log = pd.read_csv(sys.argv[1], usecols=["opened", "model", "part"], parse_dates=["opened"])
log["month"] = log["opened"].dt.to_period("M")
counts = log.groupby(["model", "part", "month"]).size()
counts.to_csv(sys.argv[2])
