"""The published forecast on disk, and the news against it."""

import datetime as dt
import json
from pathlib import Path

import pytest
from forecast.garden import champion, make_crop, make_library, make_season

from harvestplan.errors import FilesNeedMending
from harvestplan.forecast.season_forecast import Forecast, make_forecast
from harvestplan.outputs.terminal.forecast_text import (
    FORECAST,
    forecast_json,
    forecast_text,
    news_since_plan,
    read_forecast,
)

MAY = dt.date(2019, 5, 20)
SEASON = make_season({"crop": "snap bean", "sown": MAY}, {"crop": "snap bean", "sown": MAY})


def forecast(**changes: object) -> Forecast:
    season = make_season(
        {"crop": "snap bean", "sown": MAY, **changes}, {"crop": "snap bean", "sown": MAY}
    )
    return make_forecast(season, make_library(make_crop()), champion(), as_of=MAY)


def test_what_is_written_reads_back_to_the_gram(tmp_path: Path) -> None:
    made = forecast()
    (tmp_path / FORECAST).write_text(forecast_json(made, SEASON))
    found = read_forecast(tmp_path / FORECAST)
    assert found.as_of == made.as_of
    for old, new in zip(made.plantings, found.plantings, strict=True):
        assert (old.planting_id, old.first_pick_p50) == (new.planting_id, new.first_pick_p50)
        assert (old.first_pick_p10, old.first_pick_p90) == (new.first_pick_p10, new.first_pick_p90)
        assert new.total_g_p50 == pytest.approx(old.total_g_p50, abs=0.5)
        assert [p.date for p in old.picks] == [p.date for p in new.picks]
    assert forecast_json(found, SEASON) == forecast_json(made, SEASON)


def test_news_only_where_there_is_a_plan(tmp_path: Path) -> None:
    made = forecast()
    assert news_since_plan(made, SEASON, tmp_path) is None
    (tmp_path / FORECAST).write_text(forecast_json(made, SEASON))
    news = news_since_plan(made, SEASON, tmp_path)
    assert news is not None and (news.changes, news.alerts) == ((), ())
    assert "Nothing has changed much since the plan of 20 May" in forecast_text(made, SEASON, news)


def test_news_in_text_and_json(tmp_path: Path) -> None:
    (tmp_path / FORECAST).write_text(forecast_json(forecast(), SEASON))
    moved = forecast(first_pick=dt.date(2019, 7, 1))
    news = news_since_plan(moved, SEASON, tmp_path)
    assert news is not None and len(news.changes) == len(news.alerts) == 1
    text = forecast_text(moved, SEASON, news)
    assert "Plan again" in text and "Changed since the plan of 20 May" in text
    assert text.count("p1): ") == 2 and "p2): " not in text
    told = json.loads(forecast_json(moved, SEASON, news))
    assert told["since"] == "2019-05-20"
    assert (told["changes"], told["alerts"]) == (list(news.changes), list(news.alerts))


@pytest.mark.parametrize("text", ["", "{}", '{"format": 2}', '{"format": 1, "plantings": [3]}'])
def test_a_file_that_is_no_forecast_is_named(text: str, tmp_path: Path) -> None:
    (tmp_path / FORECAST).write_text(text)
    with pytest.raises(FilesNeedMending, match=r"forecast\.json"):
        read_forecast(tmp_path / FORECAST)
