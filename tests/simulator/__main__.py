"""Print the measured table."""

import argparse
import json
import sys

from tests.simulator.measure import as_text, table


def main(arguments: list[str]) -> None:
    parser = argparse.ArgumentParser(description="Measure the forecast on simulated productions.")
    parser.add_argument("--productions", type=int, default=180)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    measured = table(options.productions, options.seed)
    sys.stdout.write((json.dumps(measured) if options.json else as_text(measured)) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
