"""The exception tree and its suggestions."""

from solarsim import errors


def test_tree_at_the_top_of_the_file_is_the_tree_of_the_classes() -> None:
    drawn = {word for line in (errors.__doc__ or "").splitlines() for word in line.split() if word.endswith("Error")}
    classes = {name for name, each in vars(errors).items() if isinstance(each, type) and issubclass(each, Exception)}
    assert drawn == classes


def test_nearest_name_or_all_names() -> None:
    assert errors.nearest("Reserv", ["reserve", "surplus"]) == "; did you mean 'reserve'?"
    assert errors.nearest("xyz", ["reserve", "surplus"]) == "; allowed: reserve, surplus"
