//! Which source file uses which: paths of `use` (nested ones too) and paths in code, followed through re-exports to the file
//! that holds what is named.

use std::collections::{BTreeMap, BTreeSet};

/// A module by its path: `["joint", "judge"]`.
pub type Module = Vec<String>;

/// A path in a file, and whether its `use` is public.
struct Path {
    segments: Vec<String>,
    /// The name it has here.
    name: String,
    public: bool,
}

/// One source file.
struct Source {
    uses: Vec<Path>,
    /// Its text without comments, strings, tests and `use` lines.
    code: String,
}

/// The files of a source tree.
pub struct Graph {
    sources: BTreeMap<Module, Source>,
    /// (module, name) → where the name leads.
    public: BTreeMap<(Module, String), Module>,
}

impl Graph {
    /// `files`: module path and text.
    pub fn of(files: impl IntoIterator<Item = (Module, String)>) -> Graph {
        let sources: BTreeMap<Module, Source> = files.into_iter().map(|(module, text)| (module, source(&text))).collect();
        let mut graph = Graph { sources, public: BTreeMap::new() };
        let mut public = BTreeMap::new();
        for (module, source) in &graph.sources {
            for path in source.uses.iter().filter(|p| p.public) {
                if let Some(target) = graph.absolute(module, &path.segments) {
                    public.insert((module.clone(), path.name.clone()), target);
                }
            }
        }
        graph.public = public;
        graph
    }

    /// What each file uses, with one path that shows it.
    pub fn edges(&self) -> BTreeMap<Module, BTreeMap<Module, String>> {
        self.sources.iter().map(|(module, source)| (module.clone(), self.used(module, source))).collect()
    }

    fn used(&self, module: &Module, source: &Source) -> BTreeMap<Module, String> {
        let mut used = BTreeMap::new();
        let mut add = |target: Option<Module>, shown: &[String]| {
            if let Some(target) = target.map(|t| self.home(&t, 0)).filter(|t| t != module && !t.is_empty()) {
                used.entry(target).or_insert_with(|| shown.join("::"));
            }
        };
        let mut known: BTreeMap<&str, Module> = BTreeMap::new();
        for path in &source.uses {
            let target = self.absolute(module, &path.segments);
            if let Some(target) = target.clone().filter(|_| !path.public) {
                known.insert(&path.name, target);
            }
            // A file that shows what a part of it holds does not use it.
            let shows = path.public && target.as_ref().is_some_and(|t| t.starts_with(module));
            if !shows {
                add(target, &path.segments);
            }
        }
        for segments in paths(&source.code) {
            let target = match known.get(segments[0].as_str()) {
                Some(target) => Some([target.as_slice(), &segments[1..]].concat()),
                None => self.absolute(module, &segments),
            };
            add(target, &segments);
        }
        used
    }

    /// A path as seen from a module; `None` when it leads out of the crate.
    fn absolute(&self, module: &Module, segments: &[String]) -> Option<Module> {
        match segments[0].as_str() {
            "crate" => Some(segments[1..].to_vec()),
            "self" => Some([module.as_slice(), &segments[1..]].concat()),
            "super" => {
                let up = segments.iter().take_while(|s| *s == "super").count();
                let kept = module.len().checked_sub(up)?;
                Some([&module[..kept], &segments[up..]].concat())
            }
            first => {
                let inside = [module.as_slice(), &[first.to_owned()]].concat();
                self.sources.contains_key(&inside).then(|| [module.as_slice(), segments].concat())
            }
        }
    }

    /// The file that holds what a path names.
    fn home(&self, path: &Module, depth: usize) -> Module {
        let at = (0..=path.len()).rev().find(|n| self.sources.contains_key(&path[..*n])).unwrap_or(0);
        let (file, rest) = path.split_at(at);
        let shown = rest.first().and_then(|name| self.public.get(&(file.to_vec(), name.clone())));
        match shown {
            Some(target) if depth < 8 => self.home(&[target.as_slice(), &rest[1..]].concat(), depth + 1),
            _ => file.to_vec(),
        }
    }
}

/// Groups of files that use each other in a circle.
pub fn circles(edges: &BTreeMap<Module, BTreeMap<Module, String>>) -> Vec<BTreeSet<Module>> {
    let reached: BTreeMap<&Module, BTreeSet<&Module>> = edges.keys().map(|m| (m, reached(m, edges))).collect();
    let mut found: Vec<BTreeSet<Module>> = Vec::new();
    for (module, far) in &reached {
        let circle: BTreeSet<Module> = far
            .iter()
            .filter(|other| reached.get(*other).is_some_and(|back| back.contains(module)))
            .map(|m| (*m).clone())
            .collect();
        if circle.len() > 1 && !found.contains(&circle) {
            found.push(circle);
        }
    }
    found
}

fn reached<'e>(from: &'e Module, edges: &'e BTreeMap<Module, BTreeMap<Module, String>>) -> BTreeSet<&'e Module> {
    let (mut seen, mut open) = (BTreeSet::new(), vec![from]);
    while let Some(module) = open.pop() {
        open.extend(edges.get(module).into_iter().flat_map(BTreeMap::keys).filter(|next| seen.insert(*next)));
    }
    seen
}

fn source(text: &str) -> Source {
    let text = plain(text);
    let mut source = Source { uses: Vec::new(), code: String::new() };
    let mut rest = text.as_str();
    while let Some((at, public)) = next_use(rest) {
        source.code.push_str(&rest[..at]);
        let line = &rest[at..];
        let end = line.find(';').unwrap_or(line.len());
        let tree = line[..end].split_once("use ").map_or("", |(_, tree)| tree);
        flatten(&[], tree, public, &mut source.uses);
        rest = &line[end..];
    }
    source.code.push_str(rest);
    source
}

/// Where the next `use` begins, and whether it is public.
fn next_use(text: &str) -> Option<(usize, bool)> {
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let bare = line.trim_start();
        let public = bare.starts_with("pub") && bare.split_whitespace().nth(1) == Some("use");
        if bare.starts_with("use ") || public {
            return Some((at + line.len() - bare.len(), public));
        }
        at += line.len();
    }
    None
}

/// Every path of a `use` tree.
fn flatten(before: &[String], tree: &str, public: bool, into: &mut Vec<Path>) {
    for branch in branches(tree) {
        match branch.split_once('{') {
            Some((stem, inner)) => {
                let stem = stem.split("::").map(str::trim).filter(|s| !s.is_empty()).map(str::to_owned);
                let stem: Vec<String> = before.iter().cloned().chain(stem).collect();
                flatten(&stem, inner.trim_end().trim_end_matches('}'), public, into);
            }
            None => {
                let (path, alias) = branch.split_once(" as ").map_or((branch, None), |(p, a)| (p, Some(a.trim().to_owned())));
                let mut segments: Vec<String> =
                    before.iter().cloned().chain(path.split("::").map(|s| s.trim().to_owned())).collect();
                if segments.len() > 1 && segments.last().is_some_and(|l| l == "self" || l == "*") {
                    segments.pop();
                }
                let name = alias.or_else(|| segments.last().cloned()).unwrap_or_default();
                into.push(Path { segments, name, public });
            }
        }
    }
}

/// The parts of a `use` tree between the commas of its own level.
fn branches(tree: &str) -> Vec<&str> {
    let (mut depth, mut from, mut found) = (0_usize, 0, Vec::new());
    for (at, c) in tree.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth = depth.saturating_sub(1),
            ',' if depth == 0 => {
                found.push(tree[from..at].trim());
                from = at + 1;
            }
            _ => {}
        }
    }
    found.push(tree[from..].trim());
    found.into_iter().filter(|b| !b.is_empty()).collect()
}

/// Paths of two segments or more in code.
fn paths(code: &str) -> BTreeSet<Vec<String>> {
    let word = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == ':';
    let all = code.split(|c: char| !word(c)).filter(|w| w.contains("::"));
    let all =
        all.map(|w| w.split("::").filter(|s| !s.is_empty()).map(|s| s.trim_end_matches(':').to_owned()).collect::<Vec<_>>());
    all.filter(|segments| segments.len() > 1).collect()
}

/// The text without comments, strings and its test module.
fn plain(text: &str) -> String {
    let text = text.split("#[cfg(test)]\nmod tests").next().unwrap_or_default();
    let text: Vec<&str> = text.lines().map(|l| l.split("//").next().unwrap_or_default()).collect();
    let (text, mut out, mut inside, mut escaped) = (text.join("\n"), String::new(), false, false);
    for c in text.chars() {
        match (inside, c) {
            (true, _) if escaped => escaped = false,
            (true, '\\') => escaped = true,
            (_, '"') => inside = !inside,
            (true, _) => {}
            (false, c) => out.push(c),
        }
    }
    out
}

/// What the graph sees of a small tree: nested `use`, paths in code, names shown elsewhere.
#[test]
fn nested_uses_and_paths_in_code_are_seen() {
    let module = |path: &str| path.split('/').map(str::to_owned).collect::<Module>();
    let graph = Graph::of([
        (module("a"), "pub mod b;\npub use b::Thing;\n".into()),
        (module("a/b"), "pub struct Thing;\n".into()),
        (module("c"), "use crate::{a::{self, Thing}, d::e as f};\nfn g() { f::run(\"crate::z::x\"); } // crate::z\n".into()),
        (module("d"), "pub mod e;\n".into()),
        (module("d/e"), "fn run() { super::super::c::g() }\n".into()),
        (module("z"), "use super::c::g;\n#[cfg(test)]\nmod tests { use crate::d; }\n".into()),
    ]);
    let edges = graph.edges();
    let used = |from: &str| edges[&module(from)].keys().map(|m| m.join("/")).collect::<Vec<_>>();
    assert_eq!(used("c"), ["a", "a/b", "d/e"]);
    assert_eq!(used("d/e"), ["c"]);
    assert_eq!(used("z"), ["c"]);
    assert!(used("a").is_empty(), "{:?}", used("a"));
    assert_eq!(circles(&edges), [BTreeSet::from([module("c"), module("d/e")])]);
}
