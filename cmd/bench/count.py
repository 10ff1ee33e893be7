# The plain script a person would write instead: read the log, count per model, component and month.
# With "narrow" as third argument it reads the three columns it needs and no more.
import sys

import pandas as pd

needed = ["opened", "model", "part"]
log = pd.read_csv(sys.argv[1], usecols=needed if sys.argv[3] == "narrow" else None, parse_dates=["opened"])
log["month"] = log["opened"].dt.to_period("M")
counts = log.groupby(["model", "part", "month"]).size()
counts.to_csv(sys.argv[2])
