//! One claim, as a line for people and as JSON.

use gripbook::book::{Book, Claim, ConditionValue, Correction, Record, Standing, Value as Stated};
use gripbook::quantity::{Amount, Written};
use serde_json::{Map, Value, json};

/// The word of a claim's standing.
pub fn standing(claim: &Claim) -> &'static str {
    match claim.standing {
        Standing::Good => "good",
        Standing::Disputed => "disputed",
        Standing::Withdrawn => "withdrawn",
    }
}

/// `46.5 MPa`, with the canonical unit behind it when it was written in another: `5.2 ksi (35.9 MPa)`.
pub fn value(claim: &Claim) -> String {
    let written = claim.value.text();
    let Some((low, high)) = claim.value.ends() else { return written };
    let canonical = low.quantity().canonical();
    if low.unit == canonical && high.unit == canonical {
        return written;
    }
    let shown = |w: &Written| Amount { si: w.si, unit: canonical }.text(w.significant_digits().max(2));
    let range = if low.si == high.si { shown(low) } else { format!("{} to {}", shown(low), shown(high)) };
    format!("{written} ({range})")
}

/// `± 2.1 MPa (sd, divisor n-1), n 5`; empty when the claim states no spread.
pub fn spread(claim: &Claim) -> String {
    let mut parts = Vec::new();
    let divisor = match claim.sd_kind.as_deref() {
        None => String::new(),
        Some("unknown") => ", divisor not stated".into(),
        Some(divisor) => format!(", divisor {divisor}"),
    };
    parts.extend(claim.sd.as_ref().map(|w| format!("± {} (sd{divisor})", w.text)));
    parts.extend(claim.se.as_ref().map(|w| format!("± {} (se)", w.text)));
    parts.extend(claim.u.as_ref().map(|w| format!("± {} (u)", w.text)));
    let of = claim.spread_of.as_deref().filter(|of| *of != "specimens").map(|of| format!(" {of}")).unwrap_or_default();
    parts.extend(claim.n.map(|n| format!("n {n}{of}")));
    let ends = match (&claim.least, &claim.most) {
        (Some(l), Some(m)) => format!("{} to {}, ", l.text, m.text),
        (Some(l), None) => format!("from {}, ", l.text),
        (None, Some(m)) => format!("up to {}, ", m.text),
        (None, None) => String::new(),
    };
    parts.extend(claim.range.as_deref().map(|r| format!("{ends}range of {r}")));
    parts.join(", ")
}

/// `temperature 23 °C, orientation flat`.
pub fn conditions(claim: &Claim) -> String {
    let part = |c: &gripbook::book::ClaimCondition| match &c.value {
        ConditionValue::YesNo(true) => c.name.to_string(),
        ConditionValue::YesNo(false) => format!("not {}", c.name),
        other => format!("{} {}", c.name.replace(['.', '_'], " "), other.text()),
    };
    claim.conditions.iter().map(part).collect::<Vec<_>>().join(", ")
}

/// Where it comes from: `measured: Petrie 2000, Handbook of Adhesives, p. 12 (read in a table)`.
pub fn origin(book: &Book, claim: &Claim) -> String {
    let source = match (&claim.source, claim.basis) {
        (Some(source), _) => book.cite(source),
        (None, gripbook::book::Basis::Practice) => "common practice, no source".into(),
        (None, gripbook::book::Basis::Recalled) => "from memory, no source".into(),
        (None, gripbook::book::Basis::Invented) => "no source".into(),
        (None, _) => "no source".into(),
    };
    let locator = claim.locator.as_deref().map(|l| format!(", {l}")).unwrap_or_default();
    let read = match claim.read.as_deref() {
        None | Some("table" | "text") => String::new(),
        Some("abstract") => " (abstract only)".into(),
        Some("graph") => " (read off a graph)".into(),
        Some(other) => format!(" ({other})"),
    };
    format!("{}: {source}{locator}{read}", claim.basis.word())
}

/// What a reader must know before using it, each in a few words.
pub fn marks(claim: &Claim) -> Vec<String> {
    let mut marks = Vec::new();
    if claim.standing != Standing::Good {
        let because = claim.because.as_deref().map(|b| format!(": {b}")).unwrap_or_default();
        marks.push(format!("{}, not used{because}", standing(claim).to_uppercase()));
    }
    marks.extend(claim.bound.as_deref().map(|b| format!("only a {b} bound of the property")));
    if claim.untraced {
        marks.push("untraced: may repeat supplier data".into());
    }
    marks.extend(claim.as_printed.as_deref().map(|p| format!("the source prints {p}")));
    marks.extend(claim.was.iter().map(Correction::text));
    if !claim.from.is_empty() {
        marks.push(format!("from {}", claim.from.join(", ")));
    }
    marks.extend(claim.note.as_deref().map(str::to_owned));
    marks
}

/// The claim as JSON: quantities as value, unit, SI value and text as written.
pub fn json(book: &Book, record: &Record, property: &str, claim: &Claim) -> Value {
    let mut all = Map::new();
    let mut put = |name: &str, value: Value| {
        if !value.is_null() {
            all.insert(name.to_owned(), value);
        }
    };
    put("address", json!(record.address(property, claim)));
    put("key", json!(claim.key));
    match &claim.value {
        Stated::One(w) => {
            put("value", json!(w));
            put("low", json!(claim.least));
            put("high", json!(claim.most));
        }
        Stated::Between { low, high } => {
            put("low", json!(low));
            put("high", json!(high));
        }
        Stated::Samples(samples) => put("samples", json!(samples)),
        Stated::YesNo(yes) => put("value", json!(yes)),
        Stated::Word(word) => put("value", json!(word)),
    }
    put("written", json!(claim.value.text()));
    for (name, spread) in [("sd", &claim.sd), ("se", &claim.se), ("u", &claim.u)] {
        put(name, json!(spread));
    }
    put("n", json!(claim.n));
    put("basis", json!(claim.basis));
    put("standing", json!(claim.standing));
    let texts = [
        ("because", &claim.because),
        ("sd_kind", &claim.sd_kind),
        ("spread_of", &claim.spread_of),
        ("range", &claim.range),
        ("bound", &claim.bound),
        ("method", &claim.method),
        ("source", &claim.source),
        ("locator", &claim.locator),
        ("read", &claim.read),
        ("as_printed", &claim.as_printed),
        ("note", &claim.note),
    ];
    for (name, text) in texts {
        put(name, json!(text));
    }
    put("cited", claim.source.as_deref().map_or(Value::Null, |s| json!(book.cite(s))));
    put("conditions", conditions_json(claim));
    put("untraced", if claim.untraced { json!(true) } else { Value::Null });
    put("from", if claim.from.is_empty() { Value::Null } else { json!(claim.from) });
    put("was", if claim.was.is_empty() { Value::Null } else { json!(claim.was) });
    put("line", json!(claim.line));
    Value::Object(all)
}

fn conditions_json(claim: &Claim) -> Value {
    let value = |v: &ConditionValue| match v {
        ConditionValue::Quantity(w) => json!(w),
        ConditionValue::Text(t) => json!(t),
        ConditionValue::YesNo(yes) => json!(yes),
    };
    let fields: Map<String, Value> = claim.conditions.iter().map(|c| (c.name.to_string(), value(&c.value))).collect();
    if fields.is_empty() { Value::Null } else { Value::Object(fields) }
}
