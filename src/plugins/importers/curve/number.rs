//! Numbers of a recording, read fast and to the last bit.

const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21,
    1e22,
];

/// A number with `mark` as its decimal mark, quotes and spaces around it allowed; `None` when it is none.
#[inline]
pub fn read(bytes: &[u8], mark: u8) -> Option<f64> {
    let bytes = trimmed(bytes);
    let (negative, digits) = match bytes.first()? {
        b'-' => (true, &bytes[1..]),
        b'+' => (false, &bytes[1..]),
        _ => (false, bytes),
    };
    let (mut mantissa, mut seen, mut decimals, mut behind) = (0u64, 0u32, 0usize, false);
    let mut i = 0;
    while i < digits.len() {
        let b = digits[i];
        if b.is_ascii_digit() {
            if seen >= 18 {
                return slow(bytes, mark);
            }
            mantissa = mantissa * 10 + u64::from(b - b'0');
            seen += 1;
            decimals += usize::from(behind);
        } else if b == mark && !behind {
            behind = true;
        } else if matches!(b, b'e' | b'E') && seen > 0 {
            return slow(bytes, mark);
        } else {
            return None;
        }
        i += 1;
    }
    if seen == 0 {
        return None;
    }
    // Both exact in double precision, so that one division rounds once and correctly (Clinger 1990, memory).
    if mantissa >= 1 << 53 || decimals > 22 {
        return slow(bytes, mark);
    }
    let value = mantissa as f64 / POWERS[decimals];
    Some(if negative { -value } else { value })
}

/// A number at the front of `bytes`, of a sign, digits and a decimal mark and no more, and how many bytes it takes. `None`
/// when [`read`] has to look at the cell.
#[inline]
pub fn plain(bytes: &[u8], mark: u8) -> Option<(f64, usize)> {
    let is_negative = *bytes.first()? == b'-';
    let start = usize::from(is_negative);
    let mut mantissa = 0u64;
    let mut digits = |from: usize| {
        let mut at = from;
        while let Some(digit) = bytes.get(at).map(|b| b.wrapping_sub(b'0')).filter(|digit| *digit < 10) {
            mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit));
            at += 1;
        }
        at
    };
    let point = digits(start);
    let (end, decimals) = match bytes.get(point) {
        Some(b) if *b == mark => {
            let end = digits(point + 1);
            (end, end - point - 1)
        }
        _ => (point, 0),
    };
    // So few digits are exact in double precision, as is the power of ten, so that one division rounds once.
    let count = point - start + decimals;
    (count > 0 && count <= 18 && mantissa < 1 << 53).then_some(())?;
    let value = mantissa as f64 / POWERS[decimals];
    Some((if is_negative { -value } else { value }, end))
}

#[cold]
fn slow(bytes: &[u8], mark: u8) -> Option<f64> {
    let text = std::str::from_utf8(bytes).ok()?.replace(char::from(mark), ".");
    text.parse::<f64>().ok().filter(|v| v.is_finite())
}

fn trimmed(bytes: &[u8]) -> &[u8] {
    let outer = |b: &u8| matches!(b, b' ' | b'\t' | b'\r' | b'"');
    let start = bytes.iter().position(|b| !outer(b)).unwrap_or(bytes.len());
    let end = bytes.iter().rposition(|b| !outer(b)).map_or(start, |e| e + 1);
    &bytes[start..end]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the parser of the standard library.
    #[test]
    fn same_bits_as_the_standard_library() {
        let list =
            ["0", "-0.5", "+12.25", "123456789012345678", "0.1234567890123456789", "1e-3", "9.80665", "  7.0 ", "1.7976e308"];
        for text in list {
            assert_eq!(read(text.as_bytes(), b'.'), text.trim().trim_start_matches('+').parse().ok(), "{text}");
        }
        assert_eq!(read(b"0,0050", b','), Some(0.005));
        for text in ["0", "-0.5", "12.25", "0.1234567890123456", "9.80665", "123456789012345", "-.5", "7."] {
            assert_eq!(plain(format!("{text},1").as_bytes(), b'.'), Some((text.parse().expect("number"), text.len())), "{text}");
        }
        for other in ["", "-", ".", "-.", "123456789012345678901", "99999999999999999", "\"1\"", " 1", "+1"] {
            assert_eq!(plain(other.as_bytes(), b'.'), None, "{other}");
        }
        for bad in ["", "-", ".", "1.2.3", "1,2", "abc", "1 2", "nan", "inf", "1e", "0x1"] {
            assert_eq!(read(bad.as_bytes(), b'.'), None, "{bad}");
        }
    }
}
