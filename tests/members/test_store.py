"""Reductions against numpy on whole arrays, and folders that cannot be read."""

import json
import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pyarrow
import pyarrow.dataset
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyarrow import parquet

from baypulse.members import blocks, parts
from baypulse.members.parts import PartLayout, StudyError
from baypulse.members.pool import pool_of
from baypulse.members.store import Store
from members.fakes import Fake, table

FAKE = Fake()
PART = parts.BLOCKS_PER_PART * FAKE.block_size


@dataclass(frozen=True)
class Given:
    """A plan that gives rows known beforehand."""

    rows: np.ndarray
    block_size: int = 4
    identity: dict[str, Any] = field(default_factory=dict)

    @property
    def members(self):
        return self.rows.size

    def __call__(self, block):
        return self.rows[block * self.block_size : (block + 1) * self.block_size]


def stored(folder, **columns):
    """Store columns of equal length, a part every 128 rows."""
    kinds = [(name, np.asarray(values).dtype) for name, values in columns.items()]
    rows = np.empty(len(next(iter(columns.values()))), kinds)
    for name, values in columns.items():
        rows[name] = values
    with pool_of(1) as pool:
        return blocks.run(Given(rows), folder, pool, workers=1)


@pytest.fixture(scope="module")
def fake(tmp_path_factory):
    folder = tmp_path_factory.mktemp("store") / "run"
    with pool_of(2) as pool:
        return blocks.run(FAKE, folder, pool, workers=2)


def test_columns_come_back_with_their_types_and_in_order(fake):
    whole = table(FAKE)
    assert fake.complete and fake.members == FAKE.members
    assert fake.columns == whole.dtype.names
    assert fake.asked == FAKE.identity
    for name in fake.columns:
        assert fake.column(name).dtype == whole.dtype[name]
        np.testing.assert_array_equal(fake.column(name), whole[name])
    batches = list(fake.batches(["speed", "verdict"]))
    assert [batch["speed"].size for batch in batches] == [PART, FAKE.members - PART]
    assert list(batches[0]) == ["speed", "verdict"]
    np.testing.assert_array_equal(batches[1]["verdict"], whole["verdict"][PART:])


def test_other_programs_open_the_folder_as_one_table(fake):
    # the reader is pyarrow's own for folders, not ours
    opened = pyarrow.dataset.dataset(fake.folder, format="parquet")
    whole = table(FAKE)
    assert opened.count_rows() == FAKE.members
    for name in whole.dtype.names:
        column = opened.to_table()[name]
        assert column.null_count == 0  # NaN is a value, not a hole
        np.testing.assert_array_equal(column.to_numpy(), whole[name])


def test_codes_are_counted(fake):
    values, counts = np.unique(table(FAKE)["verdict"], return_counts=True)
    assert fake.count_values("verdict") == dict(zip(values, counts, strict=True))
    with pytest.raises(StudyError, match=r"speed is no column of codes"):
        fake.count_values("speed")


def test_extremes(fake):
    speed = table(FAKE)["speed"]
    found = fake.moments("speed")
    assert (found.least, found.greatest) == (np.nanmin(speed), np.nanmax(speed))
    assert (found.counted, found.missing) == ((~np.isnan(speed)).sum(), np.isnan(speed).sum())
    assert found.missing > 100


def test_histogram_is_that_of_numpy(fake):
    speed = table(FAKE)["speed"]
    edges = np.linspace(4.0, 11.0, 30)
    found = fake.histogram("speed", edges)
    there = speed[~np.isnan(speed)]
    np.testing.assert_array_equal(found.counts, np.histogram(there, edges)[0])
    assert found.below == (there < 4.0).sum() and found.above == (there > 11.0).sum()
    assert found.missing == np.isnan(speed).sum()


def test_histogram_puts_values_on_edges_where_numpy_does(tmp_path):
    store = stored(tmp_path / "run", x=np.array([0.0, 1.0, 1.0, 2.0, 2.5, -0.5, np.nan]))
    found = store.histogram("x", [0.0, 1.0, 2.0])
    assert found.counts.tolist() == [1, 3]
    assert (found.below, found.above, found.missing) == (1, 1, 1)
    for wrong in ([1.0], [1.0, 1.0], [2.0, 1.0], [0.0, np.nan]):
        with pytest.raises(ValueError, match="edges"):
            store.histogram("x", wrong)


SHARES = [0.0, 1e-4, 0.025, 0.3, 0.5, 0.5001, 0.975, 1.0]


def test_quantiles_are_those_of_numpy_to_the_last_bit(fake):
    whole = table(FAKE)
    for name in whole.dtype.names:
        found = fake.quantiles(name, SHARES)
        there = whole[name][~np.isnan(whole[name])].astype(float)
        np.testing.assert_array_equal(found.values, np.quantile(there, SHARES))
        assert (found.counted, found.missing) == (there.size, whole.size - there.size)
    with pytest.raises(ValueError, match="share"):
        fake.quantiles("speed", [1.01])


@settings(max_examples=40)
@given(
    st.lists(st.floats(allow_nan=False, allow_infinity=False, width=32), min_size=1, max_size=300),
    st.lists(st.floats(0.0, 1.0), min_size=1, max_size=4),
)
def test_quantiles_of_anything_are_those_of_numpy(tmp_path_factory, values, shares):
    store = stored(tmp_path_factory.mktemp("any") / "run", x=np.array(values, dtype=float))
    np.testing.assert_array_equal(
        store.quantiles("x", shares).values, np.quantile(np.array(values, dtype=float), shares)
    )


def test_quantiles_of_ties_infinities_and_far_outliers(tmp_path):
    values = np.array([3.0] * 500 + [np.inf] * 20 + [-np.inf] * 10 + [1e300, -5e-324, np.nan])
    store = stored(tmp_path / "run", x=values)
    found = store.quantiles("x", [0.0, 0.015, 0.5, 0.97, 1.0])
    # by counting: 532 values, of which 10 are -inf, one is -5e-324, 500 are 3, one is 1e300
    assert found.values.tolist() == [-np.inf, -np.inf, 3.0, np.inf, np.inf]
    assert found.missing == 1
    assert store.moments("x").greatest == np.inf


def test_mean_and_deviation(fake):
    speed = table(FAKE)["speed"]
    there = speed[~np.isnan(speed)]
    found = fake.moments("speed")
    mean = math.fsum(there) / there.size
    squares = math.fsum((value - mean) ** 2 for value in there)
    assert found.mean == pytest.approx(mean, rel=1e-14)
    assert found.deviation == pytest.approx(math.sqrt(squares / (there.size - 1)), rel=1e-13)
    assert (found.counted, found.missing) == (there.size, speed.size - there.size)


def test_deviation_of_large_values_that_hardly_differ(tmp_path):
    # NIST Statistical Reference Datasets, NumAcc4, from memory: 10000000.2 once, then
    # 10000000.1 and 10000000.3 in turn, 1001 in all; certified mean 10000000.2, deviation 0.1
    values = np.array([10000000.2] + [10000000.1, 10000000.3] * 500)
    found = stored(tmp_path / "run", x=values).moments("x")
    assert found.mean == pytest.approx(10000000.2, rel=1e-15)
    # as doubles these values are off by up to 1e-9, a hundred-millionth of the deviation; mean of
    # squares less square of the mean would leave no digit
    assert found.deviation == pytest.approx(0.1, rel=1e-7)


def test_a_column_of_nothing(tmp_path):
    store = stored(tmp_path / "run", x=np.full(300, np.nan))
    assert np.isnan(store.moments("x").least) and np.isnan(store.moments("x").greatest)
    assert np.isnan(store.quantiles("x", [0.5, 0.9]).values).tolist() == [True, True]
    assert np.isnan(store.moments("x").mean)
    assert store.histogram("x", [0.0, 1.0]).counts.tolist() == [0]
    for found in (store.moments("x"), store.quantiles("x", 0.5)):
        assert (found.counted, found.missing) == (0, 300)


def test_one_value_has_a_mean_and_no_deviation(tmp_path):
    found = stored(tmp_path / "run", x=np.array([2.5])).moments("x")
    assert found.mean == 2.5 and np.isnan(found.deviation)


@pytest.mark.parametrize("kind", ["?", "i1", "u2", "i8", "f4"])
def test_numbers_of_every_kind(tmp_path, kind):
    values = np.random.default_rng(3).integers(0, 2 if kind == "?" else 90, 200).astype(kind)
    store = stored(tmp_path / "run", x=values)
    assert store.column("x").dtype == values.dtype
    np.testing.assert_array_equal(store.column("x"), values)
    assert store.moments("x").greatest == values.max()
    assert store.quantiles("x", 0.5).values[0] == np.median(values.astype(float))


def test_an_unknown_column_is_named_with_the_nearest(fake):
    with pytest.raises(StudyError, match=r"has no column sped; did you mean speed\?"):
        fake.column("sped")
    with pytest.raises(StudyError, match=r"no column 7; it has verdict, peak, speed"):
        fake.moments("7")


def unfinished(folder):
    """A run of which nothing is finished."""
    folder.mkdir()
    parts.write_description(folder, parts.description(PartLayout(5000, 64), {"seed": 1}))
    return folder


def test_a_run_without_a_finished_part_opens_and_says_so(tmp_path):
    folder = unfinished(tmp_path / "run")
    store = Store(folder)
    assert (store.members, store.complete, store.columns) == (0, False, ())
    assert pyarrow.dataset.dataset(folder, format="parquet").count_rows() == 0
    with pytest.raises(StudyError, match=r"no finished part yet; resume"):
        store.moments("speed")


def test_a_folder_that_holds_no_run(tmp_path):
    with pytest.raises(StudyError, match=r"holds no run: _run\.json is missing"):
        Store(tmp_path)
    with pytest.raises(StudyError, match=r"holds no run"):
        Store(tmp_path / "nowhere")
    (tmp_path / parts.RUN).write_text("{", "utf-8")
    with pytest.raises(StudyError, match=r"_run\.json cannot be read"):
        Store(tmp_path)
    (tmp_path / parts.RUN).write_text(json.dumps({"format": 99}), "utf-8")
    with pytest.raises(StudyError, match=r"not describe a run in format 2,.* use the version"):
        Store(tmp_path)


@pytest.fixture
def copy(tmp_path):
    with pool_of(1) as pool:
        return blocks.run(FAKE, tmp_path / "run", pool, workers=1)


def test_a_flipped_bit_is_an_error_and_not_a_number(copy):
    place = copy.folder / parts.name(1)
    seen = parquet.read_metadata(place).row_group(0).column(1)
    data = bytearray(place.read_bytes())
    data[seen.data_page_offset + seen.total_compressed_size // 2] ^= 1
    place.write_bytes(data)
    assert copy.count_values("verdict")  # another column is still good
    with pytest.raises(StudyError, match=r"part-000001\.parquet cannot be read.*delete it and"):
        copy.moments("peak")


def test_a_part_cut_short_or_gone_while_reading(copy):
    place = copy.folder / parts.name(0)
    place.write_bytes(place.read_bytes()[:1000])
    with pytest.raises(StudyError, match=r"part-000000\.parquet cannot be read"):
        copy.column("speed")
    place.unlink()
    with pytest.raises(StudyError, match=r"part-000000\.parquet cannot be read"):
        _ = copy.columns


def test_a_part_of_another_run_is_refused(copy):
    place = copy.folder / parts.name(1)
    parquet.write_table(pyarrow.table({"speed": [1.0, 2.0]}), place)
    with pytest.raises(StudyError, match=r"not of this run: it holds 2 simulated shots, not 519"):
        copy.column("speed")
    place.rename(copy.folder / parts.name(7))
    with pytest.raises(StudyError, match=r"part-000007\.parquet is no part of this run"):
        Store(copy.folder)
