# SPDX-License-Identifier: GPL-3.0-or-later
"""A parser for the part of the Modelica language that a record of constants uses: Modelica language
specification 3.4, appendix B (lexical conventions B.1, grammar B.2), with the productions named below."""
import re

TOKEN = re.compile(r"""
    (?P<blank>\s+|//[^\n]*|/\*.*?\*/)
  | (?P<string>"(?:[^"\\]|\\['"?\\abfnrtv])*")
  | (?P<number>\d+(?:\.\d*)?(?:[eE][+-]?\d+)?)
  | (?P<ident>[A-Za-z_][A-Za-z_0-9]*)
  | (?P<mark>[\[\](){},;:=.+\-*/])
""", re.X | re.S)
KEYWORDS = {"record", "end", "constant", "parameter", "final", "model", "package"}


class Fault(Exception):
    """The text is not Modelica."""


def split(text):
    tokens, place = [], 0
    while place < len(text):
        found = TOKEN.match(text, place)
        if not found:
            raise Fault("at %r" % text[place:place + 30])
        if found.lastgroup != "blank":
            tokens.append((found.lastgroup, found.group()))
        place = found.end()
    return tokens + [("end", "")]


class Parser:
    def __init__(self, text):
        self.tokens = split(text)
        self.place = 0

    def peek(self):
        return self.tokens[self.place]

    def take(self, kind=None, word=None):
        got = self.peek()
        if (kind and got[0] != kind) or (word and got[1] != word):
            raise Fault("%r where %r is due" % (got[1], word or kind))
        self.place += 1
        return got[1]

    def has(self, word):
        return self.peek()[1] == word

    def ident(self):
        word = self.take("ident")
        if word in KEYWORDS:
            raise Fault("the keyword '%s' where a name is due" % word)
        return word

    def class_definition(self):
        """long-class-specifier: IDENT string-comment composition end IDENT, as a record"""
        self.take(word="record")
        name = self.ident()
        self.string_comment()
        members = {}
        while not self.has("end"):
            key, value = self.component_clause()
            if key in members:
                raise Fault("'%s' stands twice" % key)
            members[key] = value
            self.take(word=";")
        self.take(word="end")
        if self.ident() != name:
            raise Fault("the end of '%s' has another name" % name)
        self.take(word=";")
        self.take("end")
        return name, members

    def component_clause(self):
        """type-prefix type-specifier declaration: IDENT [array-subscripts] [modification] comment"""
        if self.peek()[1] in ("constant", "parameter"):
            self.take()
        if self.take("ident") not in ("Real", "String", "Integer", "Boolean"):
            raise Fault("not a predefined type")
        name = self.ident()
        shape = self.array_subscripts() if self.has("[") else None
        if self.has("("):
            self.class_modification()
        value = None
        if self.has("="):
            self.take()
            value = self.expression()
        self.string_comment()
        if shape and value is not None:
            self.check_shape(value, shape)
        return name, value

    def array_subscripts(self):
        self.take(word="[")
        shape = [self.take() if self.has(":") else self.expression()]
        while self.has(","):
            self.take()
            shape.append(self.take() if self.has(":") else self.expression())
        self.take(word="]")
        return shape

    @staticmethod
    def check_shape(value, shape):
        if not isinstance(value, list) or len(shape) != 2:
            raise Fault("a matrix has two subscripts")
        if shape[1] != ":" and any(len(row) != shape[1] for row in value):
            raise Fault("rows of %g" % shape[1])

    def class_modification(self):
        """( argument { , argument } ), each IDENT = expression"""
        self.take(word="(")
        while True:
            self.ident()
            self.take(word="=")
            self.expression()
            if not self.has(","):
                break
            self.take()
        self.take(word=")")

    def expression(self):
        """A number with its sign, a string, or a matrix: [ row { ; row } ]"""
        if self.has("["):
            self.take()
            rows = [self.expression_list()]
            while self.has(";"):
                self.take()
                rows.append(self.expression_list())
            self.take(word="]")
            if len({len(row) for row in rows}) != 1:
                raise Fault("rows of different length")
            return rows
        if self.peek()[0] == "string":
            return self.take()[1:-1]
        sign = -1 if self.has("-") else 1
        if self.peek()[1] in ("+", "-"):
            self.take()
        return sign * float(self.take("number"))

    def expression_list(self):
        row = [self.expression()]
        while self.has(","):
            self.take()
            row.append(self.expression())
        return row

    def string_comment(self):
        if self.peek()[0] == "string":
            self.take()


def parse(text):
    """(name, {member: value}) of the record; raises Fault."""
    return Parser(text).class_definition()
