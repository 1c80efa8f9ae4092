//! Editing the text of a record: stretches are replaced, nothing is written out anew.

use gripbook::present::safe;

/// A stretch of text to be replaced, in bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    /// First byte.
    pub start: usize,
    /// Byte after the last.
    pub end: usize,
    /// What stands there afterwards.
    pub text: String,
}

/// The text with all edits made. Of edits that overlap the later one is left out.
pub fn apply(text: &str, mut edits: Vec<Edit>) -> String {
    edits.sort_by_key(|e| (e.start, e.end));
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for edit in edits {
        if edit.start < at || edit.end > text.len() {
            continue;
        }
        out.push_str(&text[at..edit.start]);
        out.push_str(&edit.text);
        at = edit.end;
    }
    out.push_str(&text[at..]);
    out
}

/// Lines around a change.
const AROUND: usize = 2;
/// Longer changed parts are shown as removed and added as a whole.
const LONGEST: usize = 3000;

/// What changes, line by line: ` ` stays, `-` goes, `+` comes. Empty when nothing changes.
pub fn diff(before: &str, after: &str) -> String {
    if before == after {
        return String::new();
    }
    let (old, new): (Vec<&str>, Vec<&str>) = (before.split('\n').collect(), after.split('\n').collect());
    let head = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
    let rest = old.len().min(new.len()) - head;
    let tail = old.iter().rev().zip(new.iter().rev()).take(rest).take_while(|(a, b)| a == b).count();
    let steps = steps(&old[head..old.len() - tail], &new[head..new.len() - tail]);
    let mut lines: Vec<(char, &str)> = old[..head].iter().map(|l| (' ', *l)).collect();
    lines.extend(steps);
    lines.extend(old[old.len() - tail..].iter().map(|l| (' ', *l)));
    shown(&lines)
}

/// Longest common subsequence; the middle parts are small after equal ends are taken off.
fn steps<'t>(old: &[&'t str], new: &[&'t str]) -> Vec<(char, &'t str)> {
    if old.len() > LONGEST || new.len() > LONGEST {
        return old.iter().map(|l| ('-', *l)).chain(new.iter().map(|l| ('+', *l))).collect();
    }
    let width = new.len() + 1;
    let mut table = vec![0u32; (old.len() + 1) * width];
    for i in (0..old.len()).rev() {
        for j in (0..new.len()).rev() {
            let below = table[(i + 1) * width + j].max(table[i * width + j + 1]);
            table[i * width + j] = if old[i] == new[j] { table[(i + 1) * width + j + 1] + 1 } else { below };
        }
    }
    let (mut i, mut j, mut out) = (0, 0, Vec::new());
    while i < old.len() || j < new.len() {
        if i < old.len() && j < new.len() && old[i] == new[j] {
            out.push((' ', old[i]));
            (i, j) = (i + 1, j + 1);
        } else if i < old.len() && (j == new.len() || table[(i + 1) * width + j] >= table[i * width + j + 1]) {
            out.push(('-', old[i]));
            i += 1;
        } else {
            out.push(('+', new[j]));
            j += 1;
        }
    }
    out
}

fn shown(lines: &[(char, &str)]) -> String {
    let near = |at: usize| {
        let (low, high) = (at.saturating_sub(AROUND), (at + AROUND + 1).min(lines.len()));
        lines[low..high].iter().any(|(mark, _)| *mark != ' ')
    };
    let mut out = String::new();
    let mut gap = false;
    for (at, (mark, line)) in lines.iter().enumerate() {
        if near(at) {
            if gap && !out.is_empty() {
                out.push_str("  …\n");
            }
            gap = false;
            out.push_str(format!("{mark} {}", safe::line(line)).trim_end());
            out.push('\n');
        } else {
            gap = true;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edits_are_made_from_the_front_and_overlaps_left_out() {
        let edit = |start, end, text: &str| Edit { start, end, text: text.into() };
        assert_eq!(apply("abcdef", vec![edit(4, 5, "E"), edit(1, 3, "B"), edit(2, 4, "x")]), "aBdEf");
        assert_eq!(apply("ab", vec![edit(1, 1, "-")]), "a-b");
    }

    #[test]
    fn a_diff_shows_what_goes_and_comes_with_its_neighbours() {
        let before = "a\nb\nc\nd\ne\nf\ng\nh\n";
        assert_eq!(diff(before, before), "");
        assert_eq!(diff(before, &before.replace("d\n", "D\n")), "  b\n  c\n- d\n+ D\n  e\n  f\n");
        assert!(diff(before, &before.replace("b\n", "").replace("h\n", "h\ni\n")).contains("…"));
    }
}
