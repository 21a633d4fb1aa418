"""`python -m tests.bench` prints the speed of the reasoner beside pyAgrum and pgmpy, of reading a logger file, and of many lots."""

from tests.bench import bench_history, bench_inference, bench_many

bench_inference.main()
bench_history.main()
bench_many.main()
