"""The control strip of the demo's proof: one line is at fault, and its aims are said to be of no real press."""

from reviews.demo.control_strip import aims, measured
from reviews.press.characterisation import read_measured
from reviews.press.proof_check import PROOF_LIMITS, Criterion, ProofVerdict, judge_proof


def test_the_black_alone_is_at_fault_and_all_else_is_within_its_limits():
    report = judge_proof(read_measured(measured()), read_measured(aims()), PROOF_LIMITS["contract-proof"])
    failed = [line for line in report.lines if line.verdict != ProofVerdict.PASS]
    assert [(line.criterion, line.worst) for line in failed] == [(Criterion.SOLIDS, "K100")]
    assert failed[0].value > 3.2 and report.unmatched == 0 and len(report.patches) == 26
    assert "of no real press" in report.reference


def test_the_aims_meet_themselves():
    report = judge_proof(read_measured(aims()), read_measured(aims()), PROOF_LIMITS["contract-proof"])
    assert report.verdict == ProofVerdict.PASS and max(patch.de00 for patch in report.patches) == 0
