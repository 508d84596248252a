"""The simulator: an invented festival day with its pictures and its truth, for the demo, tests and benches.

Begin with `simulated_demo.run_demo`; `invented_people.invent_people` and `simulated_day.simulate_day` make
that day alone. `accident_days` makes many days, with accidents at given rates.
"""
