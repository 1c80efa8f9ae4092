//! A record as compact bytes, so that a later run need not parse its file again.
//!
//! Not an exchange format: it changes with [`FORMAT`], and bytes that do not decode are simply thrown away.

use super::claim::{Basis, Claim, Condition, ConditionValue, Correction, Standing, Value};
use super::record::{Head, Property, Record, RecordId};
use crate::quantity::{Quantity, UnitId, Written, table};
use crate::read::compact::{Decoder, Encoder};

/// Version of the form; part of the name of every cache folder.
pub const FORMAT: u32 = 5;

/// The bytes of a record. Its pack and path are not part of them: they belong to the run.
pub fn encode(record: &Record) -> Vec<u8> {
    let mut to = Encoder(Vec::with_capacity(1024));
    to.text(record.id.kind());
    to.text(record.id.name());
    to.text(&record.name);
    to.list(&record.also, |to, t| to.text(t));
    to.yes_no(record.invented());
    to.text(&record.family);
    to.list(&record.tags, |to, t| to.text(t));
    to.maybe_text(record.description.as_deref());
    to.maybe_text(record.note.as_deref());
    to.yes_no(record.current);
    to.list(&record.properties, |to, p| {
        to.text(&p.word);
        to.list(&p.claims, Encoder::claim);
    });
    to.text(&record.rest.to_string());
    to.0
}

/// The record of such bytes, with pack 0 and no path; `None` when they are damaged.
pub fn decode(bytes: &[u8]) -> Option<Record> {
    let mut from = Decoder(bytes);
    let Head { id, name, also, .. } = head(&mut from)?;
    let record = Record {
        id,
        pack: 0,
        file: "".into(),
        name,
        also,
        family: from.boxed()?,
        tags: from.list(Decoder::boxed)?,
        description: from.maybe_text()?,
        note: from.maybe_text()?,
        current: from.yes_no()?,
        properties: from.list(|from| Some(Property { word: from.boxed()?, claims: from.list(Decoder::claim)? }))?,
        rest: serde_json::from_str(from.text()?).ok()?,
    };
    from.0.is_empty().then_some(record)
}

/// What a record is called, which is looked at far more often than the rest.
pub fn decode_head(bytes: &[u8]) -> Option<Head> {
    head(&mut Decoder(bytes))
}

fn head(from: &mut Decoder<'_>) -> Option<Head> {
    let (kind, name) = (from.text()?, from.text()?);
    Some(Head { id: RecordId::new(kind, name), name: from.boxed()?, also: from.list(Decoder::boxed)?, invented: from.yes_no()? })
}

impl Encoder {
    fn written(&mut self, w: &Written) {
        self.text(&w.text);
        let quantity = table::ALL.iter().position(|q| *q == w.unit.quantity).unwrap_or(usize::MAX);
        self.number(quantity as u64);
        self.0.push(w.unit.place);
        self.0.extend(w.value.to_le_bytes());
        self.0.extend(w.si.to_le_bytes());
    }
    fn value(&mut self, value: &Value) {
        match value {
            Value::One(w) => {
                self.0.push(0);
                self.written(w);
            }
            Value::Between { low, high } => {
                self.0.push(1);
                self.maybe(low.as_ref(), Self::written);
                self.maybe(high.as_ref(), Self::written);
            }
            Value::Samples(all) => {
                self.0.push(2);
                self.list(all, Self::written);
            }
            Value::YesNo(yes) => {
                self.0.push(3);
                self.yes_no(*yes);
            }
            Value::Word(word) => {
                self.0.push(4);
                self.text(word);
            }
        }
    }
    fn condition(&mut self, condition: &Condition) {
        self.text(&condition.name);
        match &condition.value {
            ConditionValue::Quantity(w) => {
                self.0.push(0);
                self.written(w);
            }
            ConditionValue::Text(text) => {
                self.0.push(1);
                self.text(text);
            }
            ConditionValue::YesNo(yes) => {
                self.0.push(2);
                self.yes_no(*yes);
            }
        }
    }
    fn claim(&mut self, c: &Claim) {
        self.text(&c.key);
        self.value(&c.value);
        for spread in [&c.least, &c.most, &c.sd, &c.se, &c.u] {
            self.maybe(spread.as_ref(), Self::written);
        }
        self.number(c.n.map_or(0, |n| u64::from(n) + 1));
        for text in [&c.sd_kind, &c.spread_of, &c.range, &c.source, &c.locator, &c.read, &c.because, &c.method, &c.bound] {
            self.maybe_text(text.as_deref());
        }
        for text in [&c.as_printed, &c.note] {
            self.maybe_text(text.as_deref());
        }
        self.text(c.basis.word());
        self.0.push(match c.standing {
            Standing::Good => 0,
            Standing::Disputed => 1,
            Standing::Withdrawn => 2,
        });
        self.list(&c.conditions, Self::condition);
        self.yes_no(c.untraced);
        self.list(&c.from, |to, t| to.text(t));
        self.list(&c.was, |to, w| {
            to.maybe_text(w.field.as_deref());
            to.text(&w.value);
            to.text(&w.until);
            to.text(&w.because);
        });
        self.number(u64::from(c.line));
    }
}

impl Decoder<'_> {
    fn boxed(&mut self) -> Option<Box<str>> {
        self.text().map(Box::from)
    }
    fn correction(&mut self) -> Option<Correction> {
        Some(Correction { field: self.maybe_text()?, value: self.boxed()?, until: self.boxed()?, because: self.boxed()? })
    }
    fn float(&mut self) -> Option<f64> {
        self.take(8)?.try_into().ok().map(f64::from_le_bytes)
    }
    fn written(&mut self) -> Option<Written> {
        let text = self.boxed()?;
        let quantity: Quantity = *table::ALL.get(self.count()?)?;
        let place = self.byte()?;
        (usize::from(place) < quantity.units().len()).then_some(())?;
        Some(Written { text, unit: UnitId { quantity, place }, value: self.float()?, si: self.float()? })
    }
    fn value(&mut self) -> Option<Value> {
        Some(match self.byte()? {
            0 => Value::One(self.written()?),
            1 => Value::Between { low: self.maybe(Self::written)?, high: self.maybe(Self::written)? },
            2 => Value::Samples(self.list(Self::written)?),
            3 => Value::YesNo(self.yes_no()?),
            4 => Value::Word(self.boxed()?),
            _ => return None,
        })
    }
    fn condition(&mut self) -> Option<Condition> {
        let name = self.boxed()?;
        let value = match self.byte()? {
            0 => ConditionValue::Quantity(self.written()?),
            1 => ConditionValue::Text(self.boxed()?),
            2 => ConditionValue::YesNo(self.yes_no()?),
            _ => return None,
        };
        Some(Condition { name, value })
    }
    fn claim(&mut self) -> Option<Claim> {
        let (key, value) = (self.boxed()?, self.value()?);
        let (least, most) = (self.maybe(Self::written)?, self.maybe(Self::written)?);
        let (sd, se, u) = (self.maybe(Self::written)?, self.maybe(Self::written)?, self.maybe(Self::written)?);
        let n = self.number()?;
        Some(Claim {
            key,
            value,
            least,
            most,
            sd,
            se,
            u,
            n: n.checked_sub(1).map(u32::try_from).transpose().ok()?,
            sd_kind: self.maybe_text()?,
            spread_of: self.maybe_text()?,
            range: self.maybe_text()?,
            source: self.maybe_text()?,
            locator: self.maybe_text()?,
            read: self.maybe_text()?,
            because: self.maybe_text()?,
            method: self.maybe_text()?,
            bound: self.maybe_text()?,
            as_printed: self.maybe_text()?,
            note: self.maybe_text()?,
            basis: Basis::from_word(self.text()?)?,
            standing: match self.byte()? {
                0 => Standing::Good,
                1 => Standing::Disputed,
                2 => Standing::Withdrawn,
                _ => return None,
            },
            conditions: self.list(Self::condition)?,
            untraced: self.yes_no()?,
            from: self.list(Self::boxed)?,
            was: self.list(Decoder::correction)?,
            line: u32::try_from(self.number()?).ok()?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Book, PackRoot};
    use std::path::Path;

    fn built_in() -> Book {
        Book::load(&[PackRoot::BuiltIn], Path::new(".")).expect("the built-in book loads")
    }

    #[test]
    fn every_built_in_record_survives_the_round_trip() {
        let book = built_in();
        assert!(book.records().len() > 100);
        for record in book.records() {
            let mut back = decode(&encode(record)).expect("decodes");
            back.file = record.file.clone();
            assert_eq!(&back, record);
        }
    }

    #[test]
    fn damaged_bytes_are_refused_or_another_record_but_never_a_panic() {
        let record = built_in().record("polymer/pla").cloned().expect("is there");
        let good = encode(&record);
        for at in 0..good.len() {
            let mut bad = good.clone();
            bad[at] ^= 0x41;
            let _ = decode(&bad);
            assert!(decode(&good[..at]).is_none());
        }
    }
}
