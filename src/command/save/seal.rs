//! The mark of the program in a file that it wrote: a digest of the rest of the file, where the form of the file has room for a
//! remark. While it fits, nobody has changed the file since, so it may be replaced. It travels with the file: to a colleague, into
//! a fresh clone, to a machine that remembers nothing. A table has no room for it (CSV knows no remarks); the ledger stands in.

use gripbook::read::digest::sha256;

/// Digits of the mark: it has to tell a changed file, not to withstand anyone.
const DIGITS: usize = 32;

/// How a text ends without and with the mark.
struct Ending {
    /// Whether a text is of this form.
    is: fn(&[u8]) -> bool,
    plain: &'static str,
    before: &'static str,
    behind: &'static str,
}

const ENDINGS: [Ending; 6] = [
    Ending {
        is: |text| text.starts_with(b"{\n") && text.ends_with(b"\n}\n"),
        plain: "\n}\n",
        before: ",\n  \"seal\": \"",
        behind: "\"\n}\n",
    },
    Ending { is: |text| text.starts_with(b"<svg"), plain: "</svg>\n", before: "</svg>\n<!-- seal ", behind: " -->\n" },
    Ending {
        is: |text| text.starts_with(b"<!doctype html>"),
        plain: "</html>\n",
        before: "</html>\n<!-- seal ",
        behind: " -->\n",
    },
    Ending { is: |text| text.starts_with(b"<?xml"), plain: "</feed>\n", before: "</feed>\n<!-- seal ", behind: " -->\n" },
    Ending { is: |text| text.starts_with(b".ie"), plain: "", before: ".\\\" seal ", behind: "\n" },
    Ending { is: |text| text.starts_with(b"@"), plain: "", before: "% seal ", behind: "\n" },
];

/// The header of a binary STL is free text of this length.
const HEADER: usize = 80;
const IN_HEADER: &[u8] = b"seal ";

/// Place of the mark in a binary STL, which says in its header how many facets of 50 bytes follow.
fn in_header(bytes: &[u8]) -> Option<std::ops::Range<usize>> {
    let count = bytes.get(HEADER..HEADER + 4)?.try_into().map(u32::from_le_bytes).ok()?;
    let is_stl = bytes.len() as u64 == HEADER as u64 + 4 + 50 * u64::from(count);
    is_stl.then_some(HEADER - DIGITS..HEADER)
}

fn mark(bytes: &[u8]) -> String {
    let mut digits = sha256(bytes);
    digits.truncate(DIGITS);
    digits
}

/// The file with its mark; as it is where its form has no room for one.
pub(super) fn sealed(mut bytes: Vec<u8>) -> Vec<u8> {
    if let Some(ending) = ENDINGS.iter().find(|ending| (ending.is)(&bytes) && bytes.ends_with(ending.plain.as_bytes())) {
        let mark = mark(&bytes);
        bytes.truncate(bytes.len() - ending.plain.len());
        bytes.extend([ending.before, &mark, ending.behind].concat().into_bytes());
        return bytes;
    }
    if let Some(place) = in_header(&bytes) {
        let word = place.start - IN_HEADER.len()..place.start;
        bytes[place.clone()].fill(b' ');
        bytes[word].copy_from_slice(IN_HEADER);
        let mark = mark(&bytes);
        bytes[place].copy_from_slice(mark.as_bytes());
    }
    bytes
}

/// Whether a file carries the mark of the program and is as the program wrote it.
pub(super) fn is_whole(bytes: &[u8]) -> bool {
    ENDINGS.iter().any(|ending| fits(bytes, ending)) || in_header(bytes).is_some_and(|place| fits_in_header(bytes, place))
}

fn fits(bytes: &[u8], ending: &Ending) -> bool {
    let Some(rest) = bytes.strip_suffix(ending.behind.as_bytes()) else { return false };
    let Some((head, said)) = rest.split_at_checked(rest.len().saturating_sub(DIGITS)) else { return false };
    let Some(head) = head.strip_suffix(ending.before.as_bytes()) else { return false };
    let plain = [head, ending.plain.as_bytes()].concat();
    (ending.is)(&plain) && mark(&plain).as_bytes() == said
}

fn fits_in_header(bytes: &[u8], place: std::ops::Range<usize>) -> bool {
    let mut plain = bytes.to_vec();
    plain[place.clone()].fill(b' ');
    plain[..place.start].ends_with(IN_HEADER) && mark(&plain).as_bytes() == &bytes[place]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn forms() -> [Vec<u8>; 7] {
        let mut stl = vec![b' '; HEADER];
        stl[..4].copy_from_slice(b"part");
        stl.extend(1u32.to_le_bytes());
        stl.extend([7; 50]);
        [
            b"{\n  \"a\": 1\n}\n".to_vec(),
            b"<svg xmlns=\"x\">\n</svg>\n".to_vec(),
            b"<!doctype html>\n<html>\n</html>\n".to_vec(),
            b"<?xml version=\"1.0\"?>\n<feed>\n</feed>\n".to_vec(),
            b".ie \\n(.g .ds Aq \\(aq\n.TH x 1\n".to_vec(),
            b"@book{a,\n  title = {b}\n}\n".to_vec(),
            stl,
        ]
    }

    /// A change of any byte is noticed, and so is a line more.
    #[test]
    fn a_sealed_file_is_known_until_somebody_changes_it() {
        for plain in forms() {
            assert!(!is_whole(&plain));
            let sealed = sealed(plain.clone());
            assert!(sealed != plain && is_whole(&sealed), "{}", String::from_utf8_lossy(&sealed));
            for at in 0..sealed.len() {
                let mut changed = sealed.clone();
                changed[at] ^= 1;
                assert!(!is_whole(&changed), "byte {at} of {}", String::from_utf8_lossy(&plain));
            }
            assert!(!is_whole(&[&sealed[..], b"\n"].concat()) && !is_whole(&sealed[..sealed.len() - 1]));
        }
    }

    /// The forms are still read by what reads them.
    #[test]
    fn a_sealed_document_reads_as_before() {
        let all: serde_json::Value = serde_json::from_slice(&sealed(forms()[0].clone())).expect("JSON");
        assert_eq!((all["a"].as_i64(), all["seal"].as_str().map(str::len)), (Some(1), Some(DIGITS)));
    }

    #[test]
    fn a_table_has_no_room_for_a_seal() {
        for table in [&b"a,b\n1,2\n"[..], b"[\n  1\n]\n", b"", b"{}\n"] {
            assert_eq!(sealed(table.to_vec()), table);
            assert!(!is_whole(table));
        }
    }
}
