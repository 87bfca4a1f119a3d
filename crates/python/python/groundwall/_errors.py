"""What stops a call: every problem as a whole sentence, as the command line says it."""

from __future__ import annotations


class _Failure(Exception):
    problems: list[str]
    """Each problem as a sentence (place, thing, value found, rule), most with a second line ``hint: …`` that says what to do."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("\n".join(problems))
        self.problems = list(problems)

    def __reduce__(self) -> tuple[type[_Failure], tuple[list[str]]]:
        return type(self), (self.problems,)


class InputError(_Failure, ValueError):
    """Something that was given is wrong, and nothing was judged.

    >>> import groundwall
    >>> try:
    ...     groundwall.correct(400, at="warm", insulation="thermosetting")
    ... except groundwall.InputError as error:
    ...     print(error.problems[0])
    at is warm; this is not a number in °C
    """


class InternalError(_Failure, RuntimeError):
    """Nothing that was given is wrong: groundwall itself failed, and nothing was judged."""
