# Installs the build BUILD into a fresh folder, builds the stranger's program against it (with GENERATOR), and runs it: it
# measures a demo photograph and demo readings, to the digit what the installed program prints of them.
set(place ${BUILD}/stranger)
file(REMOVE_RECURSE ${place})
foreach(step "${CMAKE_COMMAND};--install;${BUILD};--prefix;${place}/installed"
             "${CMAKE_COMMAND};-G;${GENERATOR};-S;${SOURCE};-B;${place}/build;-DCMAKE_PREFIX_PATH=${place}/installed;-DCMAKE_BUILD_TYPE=Release"
             "${CMAKE_COMMAND};--build;${place}/build"
             "${place}/installed/bin/rondure;--version")
  execute_process(COMMAND ${step} RESULT_VARIABLE status OUTPUT_VARIABLE output ERROR_VARIABLE output)
  if(NOT status EQUAL 0)
    message(FATAL_ERROR "failed: ${step}\n${output}")
  endif()
endforeach()
set(demo ${place}/installed/share/rondure/images-demo)
set(program_says "")
foreach(step "measure;${demo}/roller.jpg;--board;9x6;--square;5mm;--height;6mm"
             "fit;${demo}/crown_readings.csv;--sigma;0.0002in;--kind;arc")
  execute_process(COMMAND ${place}/installed/bin/rondure ${step} RESULT_VARIABLE status OUTPUT_VARIABLE output)
  if(NOT status EQUAL 0)
    message(FATAL_ERROR "failed: ${step}\n${output}")
  endif()
  string(APPEND program_says "${output}")
endforeach()
execute_process(COMMAND ${place}/build/stranger ${demo}/roller.jpg ${demo}/crown_readings.csv
                RESULT_VARIABLE status OUTPUT_VARIABLE stranger_says)
if(NOT status EQUAL 0 OR NOT stranger_says STREQUAL program_says OR NOT stranger_says MATCHES "diameter.*radius")
  message(FATAL_ERROR "the program says\n${program_says}\nthe stranger says\n${stranger_says}")
endif()
foreach(file bin/rondure share/man/man1/rondure.1 share/bash-completion/completions/rondure
             share/zsh/vendor-completions/_rondure share/fish/vendor_completions.d/rondure.fish)
  if(NOT EXISTS ${place}/installed/${file})
    message(FATAL_ERROR "not installed: ${file}")
  endif()
endforeach()
