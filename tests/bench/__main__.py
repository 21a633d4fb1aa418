"""`python -m tests.bench` prints the speed of the reasoner beside pyAgrum and pgmpy, and of reading a logger file."""

from tests.bench import bench_history, bench_inference

bench_inference.main()
bench_history.main()
