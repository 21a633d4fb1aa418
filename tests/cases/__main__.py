"""`python -m tests.cases` scores the published cases of the first edition; `all` scores every set, `quick` all but the records;
`calibrate` tries the global numbers; `against REVISION` prints the diagnoses that a change of the knowledge moves."""

import sys

from tests.cases import calibrate, changed, every, score

if sys.argv[1:2] == ["calibrate"]:
    calibrate.main(int(sys.argv[2]) if sys.argv[2:] else 150)
elif sys.argv[1:2] == ["against"]:
    changed.main(sys.argv[2] if sys.argv[2:] else "HEAD")
elif sys.argv[1:]:
    every.main(quick=sys.argv[1] == "quick")
else:
    score.main()
