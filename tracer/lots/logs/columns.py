"""Which column is what: a proposal from the headings, for the user to confirm."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tracer.lots.logs.log import CHANNELS
from tracer.lots.logs.times import orders_that_fit
from tracer.names import fold
from tracer.wording.sentence import say, to_type

if TYPE_CHECKING:
    import pandas

HEADINGS = {
    "time": r"\b(date|time|timestamp|datetime|fecha|hora|data|ora|heure|horodatage|moment|datum|tijd|tijdstip|dato|dag|tid"
    r"|tidspunkt|tidpunkt|klokkeslett|aika|paivays|czas|godzina|cas|idopont|tarih|saat|zaman|waktu|tanggal|thoi gian|ngay)\b"
    r"|\w*(zeit|uhrzeit|zeitpunkt|zeitstempel|datum)\b|日時|時刻|日付|时间|日期|時間|시간|일시|날짜|\b(время|дата|час)\b",
    "surface": r"\b(roof|wall|surface|ceiling|techo|pared|superficie|teto|parede|toit|paroi|parete|soffitto|dach|wand|dak|tak|vegg"
    r"|sciana|cati|duvar)\b|\w*oberflach\w*|\b(dach|wand|decken)temp\w*|壁|屋根|天井",
    "aw": r"\b(aw|water activity|actividad (de|del) agua|atividade (de|da) agua|activite de l'eau|attivita dell'acqua|wateractiviteit"
    r"|vandaktivitet|aktywnosc wody)\b|\w*wasseraktivitat\b|水分活性",
    "ph": r"\bph\b",
    "humidity": r"\b(rh|hr|ur|rel|humidity|humid|hum|humedad|umidade|humidite|umidita|rf|rlf|rv|vochtigheid|luchtvochtigheid|fukt|fuktighet"
    r"|luftfuktighet|fugt|fugtighed|luftfugtighed|kosteus|wilgotnosc|vlhkost|paratartalom|nem|kelembaban|kelembapan|do am)\b"
    r"|\w*(feuchte|feuchtigkeit)\b|%|湿度|濕度|습도|влажность",
    "temperature": r"\b(t|temp|temperature|temperatura|temperatuur|lampotila|teplota|homerseklet|s[iı]cakl[iı]k|suhu|nhiet do|degc|degf)\b"
    r"|\w*temperatur\b|°|℃|℉|\b[cf]\b|温度|溫度|온도|температура",
}
"""Channel -> what its heading looks like, folded. Common words of logger exports in twenty languages, from memory."""
_PASSED_OVER = (
    r"\b(dew|dewpoint|rocio|orvalho|rosee|rugiada|\w*taupunkt\w*|dauwpunt|duggpunkt|dugpunkt|rosy|ciy|serial|serien\w*|serie|battery|bateria"
    r"|batterie|batteria|batterij|batteri|akku|moisture|laufende|lfd|no|nr|index)\b|露点"
)
_FAHRENHEIT = r"°\s*f|℉|\bf\b|\(f\)|fahrenheit|degf"
_CELSIUS = r"°\s*c|℃|\bc\b|\(c\)|celsius|degc"


@dataclass(frozen=True)
class Proposal:
    """What a file seems to hold, and what the user must decide."""

    time: tuple[str, ...]
    channels: dict[str, str]
    degrees: str | None
    dates: tuple[str, ...]
    decimal: str
    questions: tuple[str, ...]

    def line(self) -> str:
        """The fields to put into the lot sheet, for the user to read and confirm."""
        names = [f"time: {_listed(self.time)}", *(f"{k}: {_quoted(v)}" for k, v in self.channels.items())]
        dates = " or ".join(self.dates) or "year_first, day_first or month_first"
        return (
            f"columns: {{{', '.join(names)}}}, degrees: {self.degrees or 'C or F'}, dates: {dates}, "
            f"decimal: {self.decimal}"
        )


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _listed(texts: Sequence[str]) -> str:
    return _quoted(texts[0]) if len(texts) == 1 else f"[{', '.join(map(_quoted, texts))}]" if texts else "?"


def propose(headings: Sequence[str], frame: pandas.DataFrame) -> Proposal:
    """A proposal for the columns of a file, with a question for whatever its headings leave open."""
    found: dict[str, list[str]] = {name: [] for name in HEADINGS}
    for heading in headings:
        folded = fold(heading.replace("_", " "))
        if re.search(_PASSED_OVER, folded):
            continue
        for name, pattern in HEADINGS.items():
            if re.search(pattern, folded):
                found[name].append(heading)
                break
    questions = []
    channels = {}
    for name in CHANNELS:
        if found[name]:
            channels[name] = found[name][0]
        if len(found[name]) > 1:
            questions.append(
                say(
                    "several columns look like {name}: {names}; name the right one",
                    name=name,
                    names=to_type(found[name]),
                )
            )
    time = tuple(found["time"][:2]) if len(found["time"]) < 3 else tuple(found["time"][:1])
    if not time:
        questions.append(say("which column holds the time? Columns: {headings}", headings=to_type(headings)))
    if not channels:
        questions.append(
            say(
                "which columns hold temperature and humidity? Columns: {headings}", headings=to_type(headings)
            )
        )
    dates = _dates(headings, frame, time)
    if len(dates) > 1:
        questions.append(say("the dates read as {dates}: which is it?", dates=to_type(dates, " and as ")))
    degrees = _degrees(
        [channels[name] for name in ("temperature", "surface") if name in channels], frame, headings
    )
    if degrees is None and ("temperature" in channels or "surface" in channels):
        questions.append(say("is the temperature in C or in F?"))
    return Proposal(time, channels, degrees, dates, _decimal(frame, headings, channels), tuple(questions))


def _column(frame: pandas.DataFrame, headings: Sequence[str], name: str) -> pandas.Series:
    return frame[list(headings).index(name)]


def joined_times(frame: pandas.DataFrame, headings: Sequence[str], time: Sequence[str]) -> pandas.Series:
    """The written times; date and time of day joined where they stand in two columns."""
    parts = [_column(frame, headings, name) for name in time]
    parts = [
        part.str.strip() if len(part) and str(part.iloc[0]) != str(part.iloc[0]).strip() else part
        for part in parts
    ]
    return parts[0] if len(parts) == 1 else parts[0] + " " + parts[1]


def _dates(headings: Sequence[str], frame: pandas.DataFrame, time: Sequence[str]) -> tuple[str, ...]:
    if not time or frame.empty:
        return ()
    written = joined_times(frame, headings, time)
    probe = [value for value in written.iloc[:: max(1, len(written) // 400)] if value.strip()]
    fitting = orders_that_fit(probe)
    return fitting or orders_that_fit(probe[:5])


def _degrees(columns: Sequence[str], frame: pandas.DataFrame, headings: Sequence[str]) -> str | None:
    for column in columns:
        folded = fold(column.replace("_", " "))
        if re.search(_FAHRENHEIT, folded):
            return "F"
        if re.search(_CELSIUS, folded):
            return "C"
    return None


def _decimal(frame: pandas.DataFrame, headings: Sequence[str], channels: dict[str, str]) -> str:
    probe = [str(v) for name in channels.values() for v in _column(frame, headings, name).iloc[:50]]
    return "comma" if sum("," in value for value in probe) > sum("." in value for value in probe) else "point"
