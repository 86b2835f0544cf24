"""The sentences for what was found wrong with stored files, for whoever runs the portal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

_WORDS = {
    "original-missing": "the original is missing.",
    "original-wrong": "the original is not the file that was handed in: its SHA-256 differs.",
    "original-unreadable": "the original cannot be read from the disk or the store.",
    "paper-missing": "a letter's PDF is missing.",
    "paper-wrong": "a letter's PDF is not the one that was made: its SHA-256 differs.",
    "paper-unreadable": "a letter's PDF cannot be read from the disk or the store.",
    "rendition-missing": "what is shown of the picture is missing.",
    "rendition-wrong": "what is shown of the picture is damaged.",
    "nobodys": "no row names this file.",
    "half-arrived": "a copy that was never finished.",
}
_WHAT_TO_DO = {
    "original-missing": "Bring the file back from a backup, or put the same file in again: it takes its place.",
    "original-wrong": "Bring the file back from a backup, or put the same file in again: it takes its place.",
    "original-unreadable": "Look after the disk or the store; then check again.",
    "paper-missing": "Bring it back from a backup.",
    "paper-wrong": "Bring it back from a backup.",
    "paper-unreadable": "Look after the disk or the store; then check again.",
    "rendition-missing": "verify_pictures --repair makes it again from the original.",
    "rendition-wrong": "verify_pictures --repair makes it again from the original.",
    "nobodys": "verify_pictures --repair removes it.",
    "half-arrived": "verify_pictures --repair removes it.",
}
_DONE = {
    "rendition-missing": "It was made again.",
    "rendition-wrong": "It was made again.",
    "nobodys": "It was removed.",
    "half-arrived": "It was removed.",
}


def fault_words(fault: Mapping[str, Any]) -> str:
    """Say what is wrong with one stored file, which pictures suffer from it, and what to do or what was done."""
    pictures = list(fault["pictures"])
    whose = f" (picture{'s' if len(pictures) > 1 else ''} {', '.join(map(str, pictures[:5]))})" if pictures else ""
    more = f" and {len(pictures) - 5} more" if len(pictures) > 5 else ""
    end = _DONE[fault["code"]] if fault["repaired"] else _WHAT_TO_DO[fault["code"]]
    return f"{fault['name']}{whose}{more}: {_WORDS[fault['code']]} {end}"
