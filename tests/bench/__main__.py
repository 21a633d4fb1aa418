"""`python -m tests.bench` prints the speed of the reasoner on the shipped knowledge, beside pyAgrum and pgmpy."""

from tests.bench.bench_inference import main

main()
