"""Days with accidents at given rates, and their truth: as evidence in numbers, hundreds of them in minutes,
or drawn, to go through ingest. Begin at `simulate.simulate`.
"""
