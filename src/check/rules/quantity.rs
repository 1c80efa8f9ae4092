//! Faults of written quantities.

use super::Doc;
use crate::finding::Severity::Error;

pub(super) const RULES: &[Doc] = &[
    Doc {
        name: "digits-foreign",
        severity: Error,
        what: "A number has digits that are not 0 to 9.",
        why: "They look like digits but are not read as digits everywhere.",
        wrong: "value: ４６.5 MPa",
        right: "value: 46.5 MPa",
    },
    Doc {
        name: "digits-grouped",
        severity: Error,
        what: "There is a separator between the digits of a number.",
        why: "Some programs read 1'000 as 1, others as 1000.",
        wrong: "value: 1 000 MPa",
        right: "value: 1000 MPa",
    },
    Doc {
        name: "minus-sign",
        severity: Error,
        what: "A dash that is not the minus sign stands before a number.",
        why: "It looks like a minus sign but is not read as one.",
        wrong: "value: −40 °C",
        right: "value: -40 °C",
    },
    Doc {
        name: "number-spelling",
        severity: Error,
        what: "A quantity does not begin with a plain decimal number.",
        why: "Any other spelling means different things to different programs.",
        wrong: "value: 0x1F MPa",
        right: "value: 31 MPa",
    },
    Doc {
        name: "unit-confusable",
        severity: Error,
        what: "A unit holds a letter of another alphabet that looks like the right one.",
        why: "The two cannot be told apart on screen.",
        wrong: "value: 46.5 МPa (with a Cyrillic М)",
        right: "value: 46.5 MPa",
    },
    Doc {
        name: "unit-missing",
        severity: Error,
        what: "A number has no unit.",
        why: "A bare number could be in any unit.",
        wrong: "value: 46.5",
        right: "value: 46.5 MPa",
    },
    Doc {
        name: "unit-unknown",
        severity: Error,
        what: "The unit is not on the list of this quantity.",
        why: "The list is closed, so that no unit is guessed.",
        wrong: "value: 46.5 Mpa",
        right: "value: 46.5 MPa",
    },
    Doc {
        name: "unit-wrong-quantity",
        severity: Error,
        what: "The unit belongs to another quantity.",
        why: "A mass is not a force, a torque is not an energy, and a temperature is not a temperature difference.",
        wrong: "value: 20 kg",
        right: "value: 20 kgf",
    },
];
