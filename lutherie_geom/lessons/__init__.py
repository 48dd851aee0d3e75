"""Exercises with numbers of one's own: sheets to hand out, marks of what was handed in, the key.

    >>> from lutherie_geom.lessons import problem
    >>> one = problem("floor_for_travel", seed="net loft")
    >>> one.show(), one.hint(), one.try_("1.9 mm")

In a class: :func:`class_of` and :func:`hand_out` hand out, :func:`mark` marks a folder of what was handed in, :func:`key` works
out what is right; the commands ``sheet``, ``mark`` and ``key`` do the same.
"""

from lutherie_geom.lessons.handing_out import Sheet, class_of, hand_out, sheet
from lutherie_geom.lessons.marking import ClassMarks, mark
from lutherie_geom.lessons.one_problem import Problem, exercises, problem, problems, seed_of
from lutherie_geom.lessons.teachers_key import key

__all__ = ["ClassMarks", "Problem", "Sheet", "class_of", "exercises", "hand_out", "key", "mark", "problem", "problems", "seed_of",
           "sheet"]
