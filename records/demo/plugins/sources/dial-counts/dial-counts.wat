;; Reads a recording of a dial gauge with a data button: one sample is two bytes, least byte first, without sign; a count is
;; 0.1 N, and a sample is taken every 0.01 mm. Gauge and numbers are invented. Written by hand, to show that the contract of
;; plug-ins belongs to no language.
(module
  ;; 0: input and fixed texts; from 262144: samples of a block of at most 131072 bytes (24 bytes for 2).
  (memory (export "memory") 32)
  (global $top (mut i32) (i32.const 4096))   ;; free room for the input
  (global $count (mut i32) (i32.const 0))    ;; samples so far

  (data (i32.const 16) "{\"name\":\"dial-counts\",\"does\":\"importer\"}")           ;; 40 bytes
  (data (i32.const 64) "{}")
  (data (i32.const 80) "{\"samples\":{\"at\":262144,\"length\":          }}")        ;; the length goes to 113, ten places
  (data (i32.const 160) "{\"load_unit\":\"N\",\"facts\":[\"a count is 0.1 N, a sample 0.01 mm\"]}")

  (func (export "gripbook_contract") (result i32) (i32.const 1))

  ;; Room for the input of one call, behind what was asked for before it.
  (func (export "gripbook_allocate") (param $length i32) (result i32)
    (local $at i32)
    (local.set $at (global.get $top))
    (if (i32.gt_u (i32.add (local.get $at) (local.get $length)) (i32.const 262144)) (then (unreachable)))
    (global.set $top (i32.add (local.get $at) (local.get $length)))
    (local.get $at))

  ;; The next whole number in a text from $at; gives its value in the lower and the place behind it in the upper 32 bits.
  (func $number (param $at i32) (param $end i32) (result i64)
    (local $value i32) (local $digit i32)
    (block $found
      (loop $look
        (br_if $found (i32.ge_u (local.get $at) (local.get $end)))
        (local.set $digit (i32.sub (i32.load8_u (local.get $at)) (i32.const 48)))
        (br_if $found (i32.le_u (local.get $digit) (i32.const 9)))
        (local.set $at (i32.add (local.get $at) (i32.const 1)))
        (br $look)))
    (block $done
      (loop $read
        (br_if $done (i32.ge_u (local.get $at) (local.get $end)))
        (local.set $digit (i32.sub (i32.load8_u (local.get $at)) (i32.const 48)))
        (br_if $done (i32.gt_u (local.get $digit) (i32.const 9)))
        (local.set $value (i32.add (i32.mul (local.get $value) (i32.const 10)) (local.get $digit)))
        (local.set $at (i32.add (local.get $at) (i32.const 1)))
        (br $read)))
    (i64.or (i64.shl (i64.extend_i32_u (local.get $at)) (i64.const 32)) (i64.extend_i32_u (local.get $value))))

  ;; Writes a number into the ten places that end at 123, spaces before it.
  (func $length (param $value i32)
    (local $at i32)
    (local.set $at (i32.const 123))
    (loop $digit
      (local.set $at (i32.sub (local.get $at) (i32.const 1)))
      (i32.store8 (local.get $at) (i32.add (i32.const 48) (i32.rem_u (local.get $value) (i32.const 10))))
      (local.set $value (i32.div_u (local.get $value) (i32.const 10)))
      (br_if $digit (i32.ne (local.get $value) (i32.const 0))))
    (block $done
      (loop $space
        (br_if $done (i32.le_u (local.get $at) (i32.const 113)))
        (local.set $at (i32.sub (local.get $at) (i32.const 1)))
        (i32.store8 (local.get $at) (i32.const 32))
        (br $space))))

  (func $answer (param $at i32) (param $length i32) (result i64)
    (i64.or (i64.shl (i64.extend_i32_u (local.get $at)) (i64.const 32)) (i64.extend_i32_u (local.get $length))))

  (func (export "gripbook_call") (param $operation i32) (param $at i32) (param $size i32) (result i64)
    (local $found i64) (local $bytes i32) (local $end i32) (local $out i32)
    (global.set $top (i32.const 4096))
    (if (i32.eqz (local.get $operation)) (then (return (call $answer (i32.const 16) (i32.const 40)))))
    (if (i32.eq (local.get $operation) (i32.const 1))
      (then (global.set $count (i32.const 0)) (return (call $answer (i32.const 64) (i32.const 2)))))
    (if (i32.ne (local.get $operation) (i32.const 2)) (then (return (call $answer (i32.const 160) (i32.const 64)))))
    ;; {"bytes":{"at":…,"length":…},"last":…}
    (local.set $end (i32.add (local.get $at) (local.get $size)))
    (local.set $found (call $number (local.get $at) (local.get $end)))
    (local.set $bytes (i32.wrap_i64 (local.get $found)))
    (local.set $found (call $number (i32.wrap_i64 (i64.shr_u (local.get $found) (i64.const 32))) (local.get $end)))
    ;; Whole samples only; an odd byte at the end of the file is left.
    (local.set $end (i32.add (local.get $bytes) (i32.and (i32.wrap_i64 (local.get $found)) (i32.const -2))))
    (local.set $out (i32.const 262144))
    (block $done
      (loop $sample
        (br_if $done (i32.ge_u (local.get $bytes) (local.get $end)))
        (f64.store (local.get $out) (f64.div (f64.convert_i32_u (global.get $count)) (f64.const 100)))
        (f64.store offset=8 (local.get $out) (f64.div (f64.convert_i32_u (i32.load16_u (local.get $bytes))) (f64.const 10)))
        (global.set $count (i32.add (global.get $count) (i32.const 1)))
        (i64.store offset=16 (local.get $out) (i64.extend_i32_u (global.get $count)))
        (local.set $bytes (i32.add (local.get $bytes) (i32.const 2)))
        (local.set $out (i32.add (local.get $out) (i32.const 24)))
        (br $sample)))
    (call $length (i32.sub (local.get $out) (i32.const 262144)))
    (call $answer (i32.const 80) (i32.const 45))))
