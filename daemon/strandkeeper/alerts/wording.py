"""Every sentence that any screen shows about a finding, a cause, a step, a state or an event.

The one door to the words: command line, dashboard, metrics, reports and alerts import from here.
Plain words (design, section 1): dB to spare, lost since it was good, steady, creeping, jumped,
flickering, certain, likely, cannot tell. The words themselves are in the modules named below.
"""

from __future__ import annotations

from strandkeeper.alerts.wording_calm import calm_sentence
from strandkeeper.alerts.wording_causes import cause_phrase, cause_sentence, confidence_word
from strandkeeper.alerts.wording_cautions import Caution, caution_text, cautions_of
from strandkeeper.alerts.wording_events import event_sentence
from strandkeeper.alerts.wording_evidence import evidence_sentence
from strandkeeper.alerts.wording_figures import db, dbm, duration, per_year, spare
from strandkeeper.alerts.wording_headlines import finding_headline
from strandkeeper.alerts.wording_statement import (
    link_statement,
    state_word,
    weaker_direction,
    worst_finding,
    worst_first,
)
from strandkeeper.alerts.wording_states import (
    added_loss_sentence,
    alert_state_words,
    baseline_sentence,
    end_sentence,
    errors_sentence,
    forecast_sentence,
    light_source,
    limits_sentence,
    power_words,
    severity_word,
    spare_words,
    trend_sentence,
    trend_word,
)
from strandkeeper.alerts.wording_steps import (
    StepWords,
    next_step_text,
    next_step_words,
    next_steps_words,
)
from strandkeeper.model.finding import Finding
from strandkeeper.model.link import Link

__all__ = [
    "Caution",
    "StepWords",
    "added_loss_sentence",
    "alert_state_words",
    "baseline_sentence",
    "calm_sentence",
    "cause_phrase",
    "cause_sentence",
    "caution_text",
    "cautions_of",
    "confidence_word",
    "db",
    "dbm",
    "duration",
    "end_sentence",
    "errors_sentence",
    "event_sentence",
    "evidence_sentence",
    "finding_headline",
    "finding_sentences",
    "forecast_sentence",
    "light_source",
    "limits_sentence",
    "link_statement",
    "next_step_text",
    "next_step_words",
    "next_steps_words",
    "per_year",
    "power_words",
    "severity_word",
    "spare",
    "spare_words",
    "state_word",
    "trend_sentence",
    "trend_word",
    "weaker_direction",
    "worst_finding",
    "worst_first",
]


def finding_sentences(link: Link, finding: Finding) -> tuple[str, ...]:
    """Why, with how sure, then what speaks for it; the headline and the steps stand apart."""
    return (cause_sentence(link, finding), *(evidence_sentence(link, e) for e in finding.evidence))
