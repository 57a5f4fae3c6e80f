from pathlib import Path

import numpy as np
import pytest

from formmaker.errors import JobFileError
from formmaker.files.profile_file import find_profile, profile_names, read_profile

GOOD = 'title = "Dish"\ndescription = "A dish."\nhandles = [[40, 0], [80, 20.5], [100, 50]]\n'


def written(folder: Path, text: str) -> Path:
    path = folder / "dish.toml"
    path.write_text(text, encoding="utf-8")
    return path


def faults_of(folder: Path, text: str) -> list[str]:
    with pytest.raises(JobFileError) as caught:
        read_profile(written(folder, text))
    assert all(line.startswith(str(folder / "dish.toml")) for line in str(caught.value).splitlines())
    return [str(fault) for fault in caught.value.faults]


def test_a_profile_is_read_as_written(tmp_path):
    profile = read_profile(written(tmp_path, GOOD))
    assert (profile.name, profile.title, profile.description) == ("dish", "Dish", "A dish.")
    assert profile.handles.tolist() == [[40.0, 0.0], [80.0, 20.5], [100.0, 50.0]]
    assert profile.corners.tolist() == [True, False, True]


def test_joints_say_where_the_corners_are_and_the_ends_are_corners_anyway(tmp_path):
    profile = read_profile(written(tmp_path, GOOD + 'joints = ["smooth", "corner", "smooth"]'))
    assert profile.corners.tolist() == [True, True, True]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (GOOD + "colour = 3", "colour = 3: expected one of the keys title, description, handles, joints"),
        (GOOD.replace('"Dish"', "5"), "title = 5: expected a text"),
        (GOOD.replace('description = "A dish."', ""), "description = missing: expected a sentence"),
        (GOOD.replace("[80, 20.5]", "[80]"), "handles[2] = [80]: expected [radius, height], two finite numbers"),
        (GOOD.replace("20.5", "nan"), "handles[2] = [80, nan]: expected [radius, height], two finite numbers"),
        (GOOD.replace("20.5", "true"), "handles[2] = [80, True]: expected [radius, height]"),
        (GOOD.replace("[80", "[-80"), "handles[2] = [-80, 20.5]: expected a radius above 0"),
        (GOOD.replace("[40, 0]", "[40, 1]"), "handles[1] = [40, 1]: expected the edge of the foot, at height 0"),
        (GOOD.replace("50]]", "-50]]"), "handles[3] = [100, -50]: expected the rim, at a height above 0"),
        ('description = "x"', "handles = missing: expected at least two rows of [radius, height]"),
        ('description = "x"\nhandles = 7', "handles = 7: expected at least two rows"),
        (GOOD + 'joints = "smooth"', "joints = 'smooth': expected a row of"),
        (GOOD + 'joints = ["smooth", "round", "smooth"]', 'joints[2] = \'round\': expected "smooth" or "corner"'),
        (GOOD + 'joints = ["smooth"]', "joints = 1 joints: expected one for each of the 3 handles"),
        ("handles = [", "file = 'dish.toml': expected TOML in UTF-8"),
    ],
)
def test_a_fault_says_key_value_and_what_was_expected(tmp_path, text, fault):
    (found,) = faults_of(tmp_path, text)
    assert found.startswith(fault)


def test_all_faults_are_told_at_once(tmp_path):
    found = faults_of(tmp_path, 'title = 1\nhandles = [[40, 1], [-2, 3], "x"]\njoints = ["bent"]\nextra = 0')
    assert [fault.split(" = ")[0] for fault in found] == [
        "extra", "title", "description", "handles[3]", "joints[1]", "joints",
    ]  # fmt: skip


def test_a_folder_and_bytes_that_are_no_text_are_refused(tmp_path):
    with pytest.raises(JobFileError, match="a file that can be read"):
        read_profile(tmp_path)
    (tmp_path / "raw.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(JobFileError, match="expected TOML in UTF-8"):
        read_profile(tmp_path / "raw.toml")


def test_a_profile_is_found_by_its_name_or_beside_the_job(tmp_path):
    assert find_profile("open-bowl", tmp_path).is_file()
    assert find_profile("dish.toml", written(tmp_path, GOOD).parent) == tmp_path / "dish.toml"
    assert find_profile("./dish.toml", tmp_path).is_file()


@pytest.mark.parametrize("name", ["no-such-bowl", "", "..", "missing.toml", "sub/missing"])
def test_a_name_that_is_not_there_names_those_that_are(tmp_path, name):
    with pytest.raises(JobFileError, match=r"closed-in-bowl, .*open-bowl") as caught:
        find_profile(name, tmp_path)
    assert repr(name) in str(caught.value)


def test_there_are_ten_profiles_that_differ_and_describe_themselves():
    profiles = [read_profile(find_profile(name, Path())) for name in profile_names()]
    assert len(profiles) >= 8
    assert all(profile.title and len(profile.description) > 40 for profile in profiles)
    # different as curves: radius at a quarter, half and three quarters of the height, as a share of the largest
    shapes = np.array(
        [
            np.append(
                np.interp([0.25, 0.5, 0.75], profile.handles[:, 1] / profile.handles[-1, 1], profile.handles[:, 0]),
                profile.handles[[0, -1], [0, 1]],
            )
            / profile.handles[:, 0].max()
            for profile in profiles
        ]
    )
    gaps = np.abs(shapes[:, None] - shapes).max(axis=-1) + np.eye(len(shapes))
    assert gaps.min() > 0.05
