"""The simulator: an invented festival day with its pictures and its truth, for the demo, tests and benches.

Begin with `run_demo.run_demo`; `invented_people.invent_people` and `simulated_day.simulate_day` make the day
alone.
"""
