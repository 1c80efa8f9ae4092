//! Reads the check tables: RFC 4180 with `#` lines in front, expected values and tolerances as the head of the file says.

/// One row of the table of check values.
#[derive(Debug, Clone)]
pub struct Row {
    pub id: String,
    pub inputs: String,
    pub expected: String,
    pub tolerance: String,
    pub status: String,
}

/// Cells of every line after the comment lines.
pub fn cells(text: &str) -> Vec<Vec<String>> {
    text.lines().filter(|l| !l.starts_with('#')).map(split).collect()
}

fn split(line: &str) -> Vec<String> {
    let mut list = vec![String::new()];
    let mut quoted = false;
    let mut chars = line.chars().peekable();
    while let Some(c) = chars.next() {
        let last = list.last_mut().expect("a line has at least one cell");
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                last.push('"');
                chars.next();
            }
            '"' => quoted = !quoted,
            ',' if !quoted => list.push(String::new()),
            other => last.push(other),
        }
    }
    list
}

/// All rows of the table of check values.
pub fn rows() -> Vec<Row> {
    let all = cells(include_str!("../data/statistics-checks.csv"));
    assert_eq!(all[0].join(","), "id,quantity,inputs,expected,unit,tolerance,source,status", "the table has changed its columns");
    all[1..]
        .iter()
        .map(|c| {
            assert_eq!(c.len(), 8, "{c:?}");
            Row { id: c[0].clone(), inputs: c[2].clone(), expected: c[3].clone(), tolerance: c[5].clone(), status: c[7].clone() }
        })
        .collect()
}

/// Numbers in a text; digits that belong to a word (df2, g0) are not numbers, nor is anything in parentheses.
pub fn numbers(text: &str) -> Vec<f64> {
    let chars: Vec<char> = without_parentheses(text).chars().collect();
    let digit = |i: usize| chars.get(i).is_some_and(char::is_ascii_digit);
    let mut list = Vec::new();
    let mut i = 0;
    while i < chars.len() {
        let in_word = i > 0 && (chars[i - 1].is_alphanumeric() || chars[i - 1] == '_');
        let signed = chars[i] == '-' && (digit(i + 1) || chars.get(i + 1) == Some(&'.') && digit(i + 2));
        let bare = digit(i) || chars[i] == '.' && digit(i + 1) && (i == 0 || chars[i - 1] != '.');
        if in_word || !(signed || bare) {
            i += 1;
            continue;
        }
        let from = i;
        i += 1;
        while digit(i) || chars.get(i) == Some(&'.') && digit(i + 1) {
            i += 1;
        }
        if matches!(chars.get(i), Some('e' | 'E')) {
            let signed = usize::from(matches!(chars.get(i + 1), Some('+' | '-')));
            if digit(i + 1 + signed) {
                i += 1 + signed;
                while digit(i) {
                    i += 1;
                }
            }
        }
        let word: String = chars[from..i].iter().collect();
        list.push(word.parse().unwrap_or_else(|_| panic!("number `{word}` in `{text}`")));
    }
    list
}

fn without_parentheses(text: &str) -> String {
    let mut depth = 0;
    text.chars()
        .filter(|c| {
            depth += i32::from(*c == '(');
            let keep = depth == 0;
            depth -= i32::from(*c == ')');
            keep
        })
        .collect()
}

/// Expected values of a row; of `20/252=0.079` the part behind the sign.
pub fn expected(row: &Row) -> Vec<f64> {
    let text = row.expected.as_str();
    match text.split_once('=') {
        Some((fraction, value)) if fraction.contains('/') => numbers(value),
        _ => numbers(text),
    }
}

/// Allowed difference from an expected value.
pub fn allowed(row: &Row, expected: f64) -> f64 {
    let text = row.tolerance.as_str();
    let first = |t: &str| *numbers(t).first().unwrap_or_else(|| panic!("{}: tolerance `{text}`", row.id));
    if text.contains('%') {
        return first(text) / 100.0 * expected.abs();
    }
    match text.split_once("rel ") {
        Some((_, after)) => first(after.trim_end_matches(')')) * expected.abs(),
        None => first(text),
    }
}

/// Lists of numbers in square brackets.
pub fn lists(text: &str) -> Vec<Vec<f64>> {
    text.split('[').skip(1).map(|part| numbers(part.split(']').next().unwrap_or(""))).collect()
}

#[test]
fn reads_numbers_as_the_head_of_the_table_says() {
    assert_eq!(numbers("5.0900 -> 6; 6.3868 -> 7"), [5.09, 6.0, 6.3868, 7.0]);
    assert_eq!(numbers("-4.34; CI -7.9..-0.69; p 0.02"), [-4.34, -7.9, -0.69, 0.02]);
    assert_eq!(numbers("5.18; df2 17.1; p 1e-3"), [5.18, 17.1, 1e-3]);
    assert_eq!(numbers("0.0710714 (0.071)"), [0.0710714]);
    assert_eq!(numbers("5.11E-02"), [0.0511]);
    assert_eq!(numbers("n=3"), [3.0]);
    assert_eq!(lists("[1,2] N vs [3.5]"), [vec![1.0, 2.0], vec![3.5]]);
    assert_eq!(split("a,\"b \"\"c\"\", d\",").join("|"), "a|b \"c\", d|");
}
