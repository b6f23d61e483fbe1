# SPDX-License-Identifier: GPL-3.0-or-later
# Sets QS_PYTHON to a Python that can import numpy and scipy, or to nothing.  The
# first python3 of the PATH is often one without them, while the system's has them.
set(QS_PYTHON "" CACHE FILEPATH "Python with numpy and scipy, for tests that need them")
if(NOT QS_PYTHON)
  foreach(candidate python3 /usr/bin/python3 /opt/homebrew/bin/python3
                    /usr/local/bin/python3)
    execute_process(COMMAND ${candidate} -c "import numpy, scipy" RESULT_VARIABLE result
                    OUTPUT_QUIET ERROR_QUIET)
    if(result EQUAL 0)
      set(QS_PYTHON ${candidate} CACHE FILEPATH "" FORCE)
      break()
    endif()
  endforeach()
endif()
